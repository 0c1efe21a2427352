// A whole log, or cells of a spreadsheet, pasted into a row of the ground or
// into its box, become rows: the server reads them.
import { add, cell, isBlank, rowsOf } from "./editrows.js";

export function pasting(form, typed, changed) {
  const box = form.querySelector("[data-pasting]"), list = form.querySelector('[data-list="strata"]');
  if (!box || !list?.querySelector("template")) return;
  const area = box.querySelector("textarea"), said = box.querySelector("[data-pasted]");

  const read = async (text, at) => {
    const body = typed(form);
    body.set("~paste", text);
    try {
      const r = await fetch("/well/pasted", { method: "POST", body });
      const got = await r.json();
      if (!r.ok) throw new Error(got.error);
      said.textContent = got.told;
      if (got.refused) {
        box.open = true;
        area.value = text;
        area.focus();
        return;
      }
      fill(list, got.strata, at);
      const strikes = form.querySelector('[data-list="strikes"]');
      if (strikes && got.strikes) fill(strikes, got.strikes);
      area.value = "";
      box.open = true;
      changed();
    } catch (e) {
      box.open = true;
      area.value = text; // what was pasted is not lost
      said.textContent = `Not read: ${e.message}`;
    }
  };
  list.addEventListener("paste", (e) => {
    const text = e.clipboardData?.getData("text/plain") ?? "";
    if (!e.target.matches("input") || !/[\n\t]/.test(text.trim()) && !/\d.*[;,].*\d/.test(text)) return;
    if (!/[\n\t]/.test(text.trim()) && !/\d\s*(-|–|to)\s*\d/.test(text)) return; // words with numbers in them
    e.preventDefault();
    read(text, e.target.closest("[data-row]"));
  });
  box.querySelector('button[value="paste"]').addEventListener("click", (e) => {
    e.preventDefault();
    if (area.value.trim()) read(area.value);
  });
}

// Rows are filled from a row on if it is empty, else behind it.
function fill(list, values, at) {
  let row = at ?? rowsOf(list).find(isBlank) ?? null;
  let last = null;
  for (const v of values) {
    if (!row || !isBlank(row)) row = add(list, last ?? row ?? undefined);
    for (const [name, text] of Object.entries(v)) {
      const field = cell(row, name.slice(1));
      if (field) field.value = text;
    }
    last = row;
    row = row.nextElementSibling?.matches("[data-row]") ? row.nextElementSibling : null;
  }
  if (list.dataset.list === "strata" && !isBlank(rowsOf(list).at(-1))) add(list); // to type on in
}
