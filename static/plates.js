// Single keys on the plates desk: each does what the button that shows it
// does. They can be switched off, and never work while somebody types.
const desk = document.querySelector("[data-plate-keys]");
const box = desk?.querySelector("[data-keys-on]");
const kept = "plate-keys";

function remembered() {
  try {
    return localStorage.getItem(kept) !== "off";
  } catch {
    return true; // no storage: they are on
  }
}

function show() {
  for (const mark of desk.querySelectorAll("kbd")) mark.hidden = !box.checked;
}

function typing(target) {
  return target?.closest?.("textarea, select, input:not([type=checkbox])") != null;
}

if (desk && box) {
  box.checked = remembered();
  box.closest("[hidden]").hidden = false;
  show();
  box.addEventListener("change", () => {
    try {
      localStorage.setItem(kept, box.checked ? "on" : "off");
    } catch {
      // it holds for this page alone
    }
    show();
  });
  document.addEventListener("keydown", (event) => {
    if (!box.checked || event.repeat || event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    const key = event.key.toLowerCase();
    if (!/^[a-z0-9]$/.test(key)) return;
    const does = key === "u" ? document.querySelector(".said form button") : desk.querySelector(`[data-key="${key}"]`);
    if (!does) return;
    event.preventDefault();
    does.click();
    if (does.localName === "summary") does.focus();
  });
}
