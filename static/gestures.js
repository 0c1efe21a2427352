// Drag, pinch, wheel and keys on an element, told as pan, zoom, pick and done.
export function gestures(el, on) {
  const held = new Map();
  let moved = 0;
  let spread = 0;
  let onLink = null;

  const local = (e) => {
    const r = el.getBoundingClientRect();
    return { x: e.clientX - r.left, y: e.clientY - r.top };
  };
  const middle = () => {
    const ps = [...held.values()];
    return {
      x: ps.reduce((s, p) => s + p.x, 0) / ps.length,
      y: ps.reduce((s, p) => s + p.y, 0) / ps.length,
      d: ps.length > 1 ? Math.hypot(ps[0].x - ps[1].x, ps[0].y - ps[1].y) : 0,
    };
  };

  el.addEventListener("pointerdown", (e) => {
    if (e.button !== 0) return;
    if (held.size === 0) { moved = 0; onLink = e.target.closest("a"); }
    held.set(e.pointerId, local(e));
    spread = middle().d;
    el.focus({ preventScroll: true });
  });
  el.addEventListener("pointermove", (e) => {
    if (!held.has(e.pointerId)) return;
    const before = middle();
    held.set(e.pointerId, local(e));
    const now = middle();
    const dx = now.x - before.x, dy = now.y - before.y;
    moved += Math.abs(dx) + Math.abs(dy);
    if (moved < 6 && held.size === 1) return;
    if (!el.hasPointerCapture(e.pointerId)) el.setPointerCapture(e.pointerId);
    on.pan(dx, dy);
    if (held.size > 1 && spread > 0 && now.d > 0) {
      on.zoom(now.x, now.y, now.d / spread);
      spread = now.d;
    }
  });
  const lift = (e) => {
    if (!held.delete(e.pointerId)) return;
    spread = held.size > 1 ? middle().d : 0;
    if (held.size > 0) return;
    if (moved >= 6) return on.done();
    if (e.type === "pointerup" && !onLink) {
      const at = local(e);
      on.pick(at.x, at.y);
    }
  };
  el.addEventListener("pointerup", lift);
  el.addEventListener("pointercancel", lift);
  // A drag that began on a well must not open it.
  el.addEventListener("click", (e) => { if (moved >= 6) e.preventDefault(); }, true);
  el.addEventListener("dragstart", (e) => e.preventDefault());

  el.addEventListener("wheel", (e) => {
    e.preventDefault();
    const at = local(e);
    on.zoom(at.x, at.y, Math.exp(-e.deltaY * (e.deltaMode === 1 ? 0.05 : 0.0016)));
    on.done();
  }, { passive: false });

  el.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const step = Math.min(el.clientWidth, el.clientHeight) / 4;
    const w = el.clientWidth / 2, h = el.clientHeight / 2;
    const keys = {
      ArrowLeft: () => on.pan(step, 0), ArrowRight: () => on.pan(-step, 0),
      ArrowUp: () => on.pan(0, step), ArrowDown: () => on.pan(0, -step),
      "+": () => on.zoom(w, h, 1.5), "=": () => on.zoom(w, h, 1.5), "-": () => on.zoom(w, h, 1 / 1.5),
    };
    if (e.key === "Enter" && e.target === el) { e.preventDefault(); return on.pick(w, h); }
    if (!keys[e.key]) return;
    e.preventDefault();
    keys[e.key]();
    on.done();
  });
}
