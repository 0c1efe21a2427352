// The form of a record under the hand: it is looked at and kept while one
// types, and goes by the keyboard. Without this script it works by its buttons.
import { rows, enter } from "./editrows.js";
import { looking } from "./editlook.js";
import { keeping } from "./editdraft.js";
import { pasting } from "./editpaste.js";
import { placing } from "./editmap.js";

const form = document.querySelector("form[data-edit]");
if (form) start(form);

// All that is typed, as the form would send it.
function typed(form) {
  const data = new URLSearchParams(new FormData(form));
  data.set("~id", form.dataset.id);
  return data;
}

function start(form) {
  document.documentElement.classList.add("scripted");
  document.querySelector("[data-keys]")?.removeAttribute("hidden");
  const look = looking(form, typed);
  const keep = keeping(form, typed);
  const changed = () => { look(); keep.soon(); };
  form.addEventListener("input", (e) => { if (!isBeside(e.target)) changed(); });
  form.addEventListener("change", (e) => { if (!isBeside(e.target)) changed(); });
  rows(form, changed);
  pasting(form, typed, changed);
  placing(form, changed);

  const goesOn = (field) => field.matches("input:not([type=image], [type=checkbox]), select");
  form.addEventListener("keypress", (e) => { if (e.key === "Enter" && goesOn(e.target)) e.preventDefault(); });
  form.addEventListener("keydown", (e) => {
    if (e.key !== "Enter" || e.isComposing) return;
    if (e.ctrlKey || e.metaKey) {
      e.preventDefault();
      form.requestSubmit(form.querySelector('button[value="save"]'));
      return;
    }
    const at = e.target;
    if (!goesOn(at) || e.altKey || e.shiftKey) return;
    e.preventDefault();
    if (!enter(at, changed)) next(form, at);
  });

  let state = "typing";
  addEventListener("pageshow", () => { state = "typing"; keep.goOn(); });
  form.addEventListener("submit", async (e) => {
    if (state !== "typing") { e.preventDefault(); return; } // pressed twice
    const busy = keep.stop();
    state = busy ? "waiting" : "sent";
    if (!busy) return;
    e.preventDefault();
    await busy; // what is on its way arrives first, so that the draft that was kept is the one that ends
    state = "typing";
    form.requestSubmit(e.submitter);
  });
}

// What is no part of the record.
function isBeside(field) { return field.name === "~paste" || field.hasAttribute("data-aside"); }

// The keyboard goes to the next field.
function next(form, at) {
  const fields = [...form.querySelectorAll("input:not([type=hidden], [type=image]), select, textarea, .keep button")]
    .filter((f) => f.checkVisibility() && !f.closest("thead, .eunits") && !f.classList.contains("unit"));
  fields[fields.indexOf(at) + 1]?.focus();
}
