// A window on the map, as package draw's View: Mercator, north up.
const R = 6378137;
const rad = Math.PI / 180;

function mercator(lon, lat) {
  return { x: lon * rad, y: Math.asinh(Math.tan(lat * rad)) };
}

export class View {
  constructor(lon, lat, mpp, w, h) {
    Object.assign(this, { lon, lat, mpp, w, h });
  }
  get latScale() { return 1 / Math.cos(this.lat * rad); }
  get scale() { return R * Math.cos(this.lat * rad) / this.mpp; }

  // What stands at a pixel, degrees.
  position(x, y) {
    const c = mercator(this.lon, this.lat);
    const lon = (c.x + (x - this.w / 2) / this.scale) / rad;
    const lat = Math.atan(Math.sinh(c.y - (y - this.h / 2) / this.scale)) / rad;
    return { lon: ((lon + 540) % 360) - 180, lat };
  }

  moved(dx, dy) {
    const at = this.position(this.w / 2 + dx, this.h / 2 + dy);
    const lat = Math.max(-85, Math.min(85, at.lat));
    return new View(at.lon, lat, this.mpp * Math.cos(lat * rad) / Math.cos(this.lat * rad), this.w, this.h);
  }

  zoomed(x, y, factor) {
    const f = Math.max(this.mpp / 60000, Math.min(this.mpp / 0.02, factor));
    const v = this.moved((x - this.w / 2) * (1 - 1 / f), (y - this.h / 2) * (1 - 1 / f));
    return new View(v.lon, v.lat, v.mpp / f, this.w, this.h);
  }

  // Where this window's top left corner lies in another window.
  pixelIn(other) {
    const c = mercator(this.lon, this.lat), o = mercator(other.lon, other.lat);
    let dx = c.x - o.x;
    if (dx > Math.PI) dx -= 2 * Math.PI;
    if (dx < -Math.PI) dx += 2 * Math.PI;
    const f = other.scale / this.scale;
    return {
      x: other.w / 2 + dx * other.scale - this.w / 2 * f,
      y: other.h / 2 - (c.y - o.y) * other.scale - this.h / 2 * f,
    };
  }
}
