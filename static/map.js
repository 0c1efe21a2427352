// The map under the hand: it moves at once by a transform, then the server's
// new drawing takes its place. All state stands in the address.
import { View } from "./view.js";
import { gestures } from "./gestures.js";

const box = document.querySelector("[data-map]");
document.documentElement.classList.add("scripted");
controls();
if (box) start(box);

function start(box) {
  let params = new URLSearchParams(box.dataset.query);
  let drawn = viewOf(box);
  let view = drawn;
  let asked = 0;
  let timer;

  const show = () => {
    const svg = box.querySelector("svg");
    const f = drawn.mpp / view.mpp * drawn.latScale / view.latScale;
    const at = drawn.pixelIn(view);
    svg.style.transform = `translate(${at.x}px, ${at.y}px) scale(${f})`;
    box.classList.add("moving");
  };
  const settle = (ms = 160) => {
    clearTimeout(timer);
    timer = setTimeout(() => fetchMap(true), ms);
  };
  const fetchMap = async (keep) => {
    const mine = ++asked;
    params = withView(params, view);
    const wait = setTimeout(() => box.classList.add("waiting"), 150);
    try {
      const theme = wantedTheme();
      const r = await fetch(`/map.svg?${sized(params, box)}${theme}`);
      if (!r.ok) throw new Error(await r.text());
      const text = await r.text();
      if (mine !== asked) return;
      box.innerHTML = text;
      drawn = viewOf(box);
      view = drawn;
      box.classList.remove("moving");
      if (keep) history.pushState(null, "", `/?${params}`);
      freshen(params, sized(params, box));
    } catch (e) {
      if (mine === asked) console.info("the map could not be drawn anew:", e.message);
    } finally {
      clearTimeout(wait);
      if (mine === asked) box.classList.remove("waiting");
    }
  };

  gestures(box, {
    pan(dx, dy) { view = view.moved(-dx, -dy); show(); },
    zoom(x, y, f) { view = view.zoomed(x, y, f); show(); },
    done: settle,
    pick(x, y) {
      const at = view.position(x, y);
      if (!box.dispatchEvent(new CustomEvent("spot", { cancelable: true, detail: at }))) return; // another script takes it
      const p = withView(params, view);
      p.set("at", `${at.lat.toFixed(6)},${at.lon.toFixed(6)}`);
      location.assign(`/?${p}`);
    },
  });
  document.querySelectorAll(".moves .in, .moves .out").forEach((a) => a.addEventListener("click", (e) => {
    e.preventDefault();
    view = view.zoomed(view.w / 2, view.h / 2, a.classList.contains("in") ? 2 : 0.5);
    show();
    settle(40);
  }));
  addEventListener("popstate", () => location.reload());
  box.addEventListener("theme", () => fetchMap(false));
  document.querySelector("[data-hint]")?.removeAttribute("hidden");

  const fit = () => {
    document.cookie = `size=${Math.round(box.clientWidth)}x${Math.round(box.clientHeight)};path=/;max-age=31536000;samesite=lax`;
    const svg = box.querySelector("svg").viewBox.baseVal;
    if (Math.abs(svg.width - box.clientWidth) > 4 || Math.abs(svg.height - box.clientHeight) > 4) fetchMap(false);
  };
  fit();
  // The page did not wait for its surface; the drawing does.
  if (box.hasAttribute("data-unfinished") && !asked) fetchMap(false);
  let resized;
  new ResizeObserver(() => { clearTimeout(resized); resized = setTimeout(fit, 200); }).observe(box);
}

function viewOf(box) {
  const svg = box.querySelector("svg");
  const vb = svg.viewBox.baseVal;
  return new View(+svg.dataset.lon, +svg.dataset.lat, +svg.dataset.mpp, vb.width, vb.height);
}

function withView(params, view) {
  const p = new URLSearchParams(params);
  p.set("lon", view.lon.toFixed(6));
  p.set("lat", view.lat.toFixed(6));
  p.set("mpp", String(+view.mpp.toPrecision(6)));
  return p;
}

function sized(params, box) {
  const p = new URLSearchParams(params);
  p.set("w", Math.max(200, Math.round(box.clientWidth)));
  p.set("h", Math.max(160, Math.round(box.clientHeight)));
  return p;
}

function wantedTheme() {
  const chosen = document.documentElement.dataset.theme;
  if (chosen) return "";
  return "&theme=" + (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
}

// The links and forms of the page carry the place that is shown now.
function freshen(params, drawing) {
  for (const name of ["lon", "lat", "mpp"]) {
    document.querySelectorAll(`form [name=${name}]`).forEach((i) => { i.value = params.get(name); });
    document.querySelectorAll("form[data-controls]").forEach((f) => {
      if (f.elements[name]) return;
      const i = document.createElement("input");
      i.type = "hidden"; i.name = name; i.value = params.get(name);
      f.append(i);
    });
  }
  document.querySelectorAll(".panel a, .tray a").forEach((a) => {
    const u = new URL(a.href);
    if (u.pathname !== "/") return;
    for (const name of ["lon", "lat", "mpp"]) u.searchParams.set(name, params.get(name));
    a.href = u.href;
  });
  const d = document.querySelector("[data-download]");
  if (d) d.href = `/map.svg?download=1&${drawing}`;
  const r = document.querySelector("[data-review]");
  if (r) r.href = `/review?view=1&${drawing}`;
  const paper = document.querySelector(".onpaper");
  if (paper) paper.src = `/map.svg?theme=print&${drawing}`;
}

function controls() {
  const form = document.querySelector("[data-controls]");
  if (!form) return;
  const tick = form.querySelector("[data-lines-tick]");
  form.addEventListener("change", (e) => {
    if (e.target === tick) form.querySelector("[data-lines]").value = tick.checked ? "1" : "0";
    if (e.target.closest(".filters")) return;
    form.requestSubmit();
  });
}
