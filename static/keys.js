// Single keys press what bears them as data-key. They are off while somebody
// types, and may be switched off for good (WCAG 2.2, criterion 2.1.4).
const kept = "tallybook-single-keys";
const box = document.querySelector("[data-keys-switch]");
const input = box?.querySelector("input");

function on() {
  return !input || input.checked;
}

if (box) {
  box.hidden = false;
  try { input.checked = localStorage.getItem(kept) !== "off"; } catch { /* nothing is kept then */ }
  input.addEventListener("change", () => {
    try { localStorage.setItem(kept, input.checked ? "on" : "off"); } catch { /* likewise */ }
  });
}

function typing(at) {
  return at instanceof HTMLElement && (at.isContentEditable || at.matches("select, textarea, input:not([type=radio]):not([type=checkbox])"));
}

document.addEventListener("keydown", (e) => {
  if (!on() || e.ctrlKey || e.altKey || e.metaKey || e.repeat || typing(e.target)) return;
  const found = [...document.querySelectorAll("[data-key]")].find((b) => b.dataset.key === e.key);
  if (!found) return;
  e.preventDefault();
  found.click();
});
