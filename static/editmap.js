// The map in the form: a click on it is the place.
import { View } from "./view.js";

export function placing(form, changed) {
  const picture = form.querySelector("[data-map-of-place]");
  if (!picture) return;
  const field = (name) => form.elements.namedItem(name);
  const w = +picture.getAttribute("width"), h = +picture.getAttribute("height");
  const view = () => new View(+field("~map.lon").value, +field("~map.lat").value, +field("~map.mpp").value, w, h);
  let at = new URL(picture.src, location.href).searchParams.get("at");

  const show = (v) => {
    field("~map.lon").value = v.lon.toFixed(6);
    field("~map.lat").value = v.lat.toFixed(6);
    field("~map.mpp").value = String(+v.mpp.toPrecision(6));
    const u = new URL(picture.src, location.href);
    u.searchParams.set("lon", v.lon.toFixed(6));
    u.searchParams.set("lat", v.lat.toFixed(6));
    u.searchParams.set("mpp", String(+v.mpp.toPrecision(6)));
    if (at) u.searchParams.set("at", at);
    else u.searchParams.delete("at");
    picture.src = u.href;
  };
  picture.addEventListener("click", (e) => {
    e.preventDefault();
    if (e.detail === 0) return; // by the keyboard: no spot was meant
    const p = view().position(e.offsetX * w / picture.clientWidth, e.offsetY * h / picture.clientHeight);
    field("coordinates_given").value = `${p.lat.toFixed(6)}, ${p.lon.toFixed(6)}`;
    field("datum").value = "WGS 84";
    field("located_by").value = "map";
    changed();
  });
  for (const [value, factor] of [["map:in", 2], ["map:out", 0.5]]) {
    form.querySelector(`button[value="${value}"]`)?.addEventListener("click", (e) => {
      e.preventDefault();
      show(view().zoomed(w / 2, h / 2, factor));
    });
  }
  form.addEventListener("place", (e) => {
    if ((e.detail || null) === at) return;
    at = e.detail || null;
    form.querySelector("[data-at]").textContent = at ? at.replace(",", ", ") : "";
    const v = view();
    if (at) [v.lat, v.lon] = at.split(",").map(Number);
    show(v);
  });
}
