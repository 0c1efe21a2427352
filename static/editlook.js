// What is wrong with the form, and its log drawn, as one types: the server
// judges and draws, this only puts its answer where it belongs.
export function looking(form, typed) {
  let timer, asked = 0, sent = "", faults = [];
  const figure = form.querySelector("[data-column]");
  const theme = () => (document.documentElement.dataset.theme ? "" : `?theme=${matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light"}`);

  const look = async (again) => {
    const body = typed(form), mine = ++asked;
    if (body.toString() === sent && !again) return;
    sent = body.toString();
    try {
      const r = await fetch(`/well/look${theme()}`, { method: "POST", body });
      if (!r.ok || mine !== asked) return;
      const seen = await r.json();
      if (mine !== asked) return;
      tell(form, faults = seen.faults);
      draw(figure, seen.column);
      document.querySelector("[data-stale]").textContent = seen.stale;
      form.dispatchEvent(new CustomEvent("place", { detail: seen.at }));
      form.dataset.looked = String(mine);
    } catch {
      sent = ""; // no connection: what is typed stands, and is looked at when it is back
    }
  };
  figure?.addEventListener("theme", () => look(true));
  // Doubts about the row that is being typed wait until the keyboard leaves it.
  form.addEventListener("focusout", () => setTimeout(() => { if (sent) tell(form, faults); }, 300));
  return () => {
    clearTimeout(timer);
    timer = setTimeout(look, 400);
  };
}

function draw(figure, text) {
  if (!figure) return;
  const box = figure.querySelector("[data-log]");
  const svg = text ? new DOMParser().parseFromString(text, "image/svg+xml").documentElement : null;
  box.replaceChildren(...(svg?.localName === "svg" ? [document.adoptNode(svg)] : []));
  figure.querySelector("[data-nolog]").hidden = box.childElementCount > 0;
}

function tell(form, faults) {
  form.querySelectorAll(".fault, .doubt").forEach((p) => p.remove());
  form.querySelectorAll("[aria-invalid]").forEach((f) => f.removeAttribute("aria-invalid"));
  const active = document.activeElement?.closest?.("[data-row], [data-field]");
  for (const fault of faults) {
    const field = fault.field ? form.elements.namedItem(fault.field) : null;
    const home = field?.closest("[data-row], [data-field]");
    if (home && home === active && !fault.bad) continue;
    const list = form.querySelector(`[data-list="${CSS.escape(fault.field.replace(/\[.*/, ""))}"]`);
    const box = home?.querySelector("[data-faults]") ?? list?.querySelector("[data-faults-list]") ?? form.querySelector("[data-rest]");
    const said = Object.assign(document.createElement("p"), { className: fault.bad ? "fault" : "doubt", textContent: fault.text });
    box.append(said);
    if (field && fault.bad) {
      field.setAttribute("aria-invalid", "true");
      const id = `${field.id}-fault`;
      if (!document.getElementById(id)) said.id = id;
      field.setAttribute("aria-describedby", id);
    }
  }
}
