// The window on the map must place things as the server does; expected values
// are worked from the definition of spherical Mercator on a = 6378137 m
// (EPSG:3857): one degree of longitude is a*pi/180 = 111319.4908 m there.
import test from "node:test";
import assert from "node:assert/strict";
import { View } from "./view.js";

const near = (a, b, tolerance) => assert.ok(Math.abs(a - b) <= tolerance, `${a} is not ${b} within ${tolerance}`);

test("the middle stands in the middle", () => {
  const v = new View(-71.5, 43.2, 5, 1000, 760);
  const at = v.position(500, 380);
  near(at.lon, -71.5, 1e-9);
  near(at.lat, 43.2, 1e-9);
});

test("a degree of longitude on the equator has its length", () => {
  const v = new View(0, 0, 1000, 1000, 1000);
  near(v.position(500 + 111.3194908, 500).lon, 1, 1e-7);
});

test("zooming keeps the pixel under the hand", () => {
  const v = new View(10, 60, 20, 800, 600);
  const before = v.position(123, 456);
  const after = v.zoomed(123, 456, 2.5).position(123, 456);
  near(after.lon, before.lon, 1e-6);
  near(after.lat, before.lat, 1e-6);
});

test("moving there and back is no move", () => {
  const v = new View(179.9, -40, 100, 800, 600);
  const w = v.moved(300, -200).moved(-300, 200);
  near(w.lon, v.lon, 1e-9);
  near(w.lat, v.lat, 1e-6);
  near(w.mpp, v.mpp, 1e-6);
});

test("a drawing is laid where its corner belongs", () => {
  const v = new View(10, 60, 20, 800, 600);
  const w = v.moved(50, 30);
  const at = v.pixelIn(w);
  near(at.x, -50, 1e-6);
  near(at.y, -30, 1e-6);
});
