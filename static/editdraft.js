// Keeps what is typed as a draft on the server, a few seconds after the last
// key and at once when the page is left.
export function keeping(form, typed) {
  const state = form.querySelector("[data-state]");
  let timer, busy = null, dirty = false, stopped = false, since = 0;

  const keep = async (last) => {
    clearTimeout(timer);
    if (!dirty || stopped && !last) return;
    if (busy && !last) { soon(); return; }
    dirty = false;
    since = 0;
    busy = send(last);
    await busy;
    busy = null;
  };
  const send = async (last) => {
    try {
      const body = typed(form);
      const r = await fetch("/draft", { method: "POST", body, keepalive: last && body.toString().length < 60000 });
      const got = await r.json();
      if (!r.ok) throw new Error(got.error);
      form.elements.namedItem("~draft").value = got.id;
      form.elements.namedItem("~draft_revision").value = got.revision;
      state.textContent = `draft kept ${got.at}`;
      if (!stopped) history.replaceState(null, "", got.href);
    } catch (e) {
      dirty = true;
      state.textContent = e instanceof TypeError ? "not kept yet: no connection" : `not kept: ${e.message}`;
    }
  };
  const soon = () => {
    dirty = true;
    since ||= Date.now();
    clearTimeout(timer);
    timer = setTimeout(keep, Date.now() - since > 8000 ? 0 : 1500);
  };
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden" && dirty && !stopped) keep(true);
  });
  return {
    soon,
    goOn() { stopped = false; },
    // No more is kept: the form is sent. What is on its way is given back.
    stop() {
      stopped = true;
      clearTimeout(timer);
      return busy;
    },
  };
}
