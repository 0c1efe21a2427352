// Rows of a list: Enter goes to the next, which begins where this one ends;
// they are added, moved and taken out, and each of that can be undone.
export const rowsOf = (list) => [...list.querySelectorAll("[data-row]")];
export const fieldsOf = (row) => [...row.querySelectorAll("input:not([type=hidden]), select, textarea")];
export const cell = (row, name) => row?.querySelector(`[name$="].${name}"]`);
export const isBlank = (row) => fieldsOf(row).every((f) => f.value.trim() === "");

// The ends of an interval, where one row begins at the end of another.
const ends = { strata: ["top", "bottom"], rods: ["from", "to"], bores: ["from", "to"] };

const undos = new WeakMap();

export function rows(form, changed) {
  for (const list of form.querySelectorAll("[data-list]")) {
    list.querySelectorAll(".tool").forEach((t) => { t.tabIndex = -1; });
    list.addEventListener("click", (e) => {
      const button = e.target.closest("button");
      if (!button) return;
      const row = button.closest("[data-row]");
      if (button.matches("[data-add]")) fieldsOf(add(list))[0]?.focus();
      else if (button.matches(".tool.up")) move(list, row, -1);
      else if (button.matches(".tool.out")) drop(list, row);
      else return;
      e.preventDefault();
      changed();
    });
    list.addEventListener("keydown", (e) => keys(e, list, changed));
    list.addEventListener("input", (e) => {
      undos.delete(list);
      begin(list, e.target.closest("[data-row]"), e.target);
    });
    list.addEventListener("focusin", (e) => { e.target.dataset.was = e.target.value; });
    list.addEventListener("change", (e) => follow(list, e.target));
  }
}

function keys(e, list, changed) {
  const row = e.target.closest("[data-row]");
  if (e.ctrlKey && e.key === "z" && undos.has(list)) {
    e.preventDefault();
    undo(list);
  } else if (row && e.altKey && (e.key === "ArrowUp" || e.key === "ArrowDown")) {
    e.preventDefault();
    move(list, row, e.key === "ArrowUp" ? -1 : 1);
  } else if (row && e.ctrlKey && e.key === "Delete") {
    e.preventDefault();
    drop(list, row);
  } else return;
  changed();
}

// Enter in a row. It tells whether the keyboard went on by it.
export function enter(at, changed) {
  const row = at.closest("[data-row]"), list = at.closest("[data-list]");
  if (!row || !list) return false;
  const all = rowsOf(list);
  let next = all[all.indexOf(row) + 1];
  if (isBlank(row) && !next) return false; // an empty last row ends the list
  if (!next) {
    next = add(list);
    changed();
  }
  const [from, to] = ends[list.dataset.list] ?? [];
  const skip = from && isBlank(next) && cell(row, to)?.value ? cell(next, from) : null;
  (fieldsOf(next).find((f) => f !== skip && f.value === "" && f.checkVisibility()) ?? fieldsOf(next)[0])?.focus();
  return true;
}

// A row in which something is written begins where the one above it ends,
// unless it says otherwise.
function begin(list, row, field) {
  const [from, to] = ends[list.dataset.list] ?? [];
  if (!from || !row) return;
  const top = cell(row, from), all = rowsOf(list), end = cell(all[all.indexOf(row) - 1], to)?.value;
  if (end && top !== field && fieldsOf(row).every((f) => f === field || f.value === "")) top.value = end;
}

// The end of an interval that is corrected takes the beginning of the next
// along, where that was the same.
function follow(list, field) {
  const [from, to] = ends[list.dataset.list] ?? [];
  if (!from || !field.name.endsWith(`].${to}`)) return;
  const all = rowsOf(list), top = cell(all[all.indexOf(field.closest("[data-row]")) + 1], from);
  if (top && top.value !== "" && top.value === field.dataset.was) top.value = field.value;
}

export function add(list, after) {
  const row = list.querySelector("template").content.firstElementChild.cloneNode(true);
  const last = after ?? rowsOf(list).at(-1);
  if (last) last.after(row);
  else (list.querySelector("table") ?? list.querySelector(".ecards")).append(row);
  list.querySelectorAll("[data-empty]").forEach((e) => e.removeAttribute("data-empty"));
  row.querySelectorAll(".tool").forEach((t) => { t.tabIndex = -1; });
  renumber(list);
  return row;
}

function drop(list, row) {
  const before = row.nextElementSibling, parent = row.parentElement;
  const beside = rowsOf(list)[rowsOf(list).indexOf(row) + 1] ?? rowsOf(list).at(-2);
  row.remove();
  renumber(list);
  fieldsOf(beside ?? list)[0]?.focus();
  remember(list, "Taken out.", () => { parent.insertBefore(row, before); return fieldsOf(row)[0]; });
}

function move(list, row, by) {
  const all = rowsOf(list), other = all[all.indexOf(row) + by];
  if (!other) return;
  const at = row.contains(document.activeElement) ? document.activeElement : fieldsOf(row)[0];
  by < 0 ? other.before(row) : other.after(row);
  at?.focus(); // what is moved loses it
  renumber(list);
  remember(list, "Moved.", () => { by < 0 ? other.after(row) : other.before(row); return at; });
}

function remember(list, said, how) {
  const box = list.querySelector("[data-undo]");
  const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet", textContent: "Undo" });
  button.addEventListener("click", () => { undo(list); list.dispatchEvent(new Event("input", { bubbles: true })); });
  box.replaceChildren(`${said} `, button);
  undos.set(list, how);
}

function undo(list) {
  const at = undos.get(list)?.();
  undos.delete(list);
  list.querySelector("[data-undo]").replaceChildren();
  renumber(list);
  at?.focus();
}

// Rows are numbered in their order: in names, in ids, and in what is said.
export function renumber(list) {
  const path = list.dataset.list, one = list.dataset.rowWord;
  rowsOf(list).forEach((row, i) => {
    for (const e of row.querySelectorAll("[name], [id], [for], [aria-label], label, .which")) {
      if (e.name?.startsWith(`${path}[`)) e.name = e.name.replace(/\[[^\]]*\]/, `[${i}]`);
      if (e.name === "do") e.value = e.value.replace(/[^:]*$/, i);
      if (e.id) e.id = e.id.replace(/^(e-[a-z_]+-)(\d+|#)-/, `$1${i}-`);
      for (const a of ["for", "aria-describedby"]) {
        if (e.hasAttribute(a)) e.setAttribute(a, e.getAttribute(a).replace(/^(e-[a-z_]+-)(\d+|#)-/, `$1${i}-`));
      }
      const say = (t) => t.replace(new RegExp(`${one} (\\d+|#)`), `${one} ${i + 1}`);
      if (e.hasAttribute("aria-label")) e.setAttribute("aria-label", say(e.getAttribute("aria-label")));
      if (e.matches("label.hidden, .which")) e.textContent = say(e.textContent);
    }
  });
}
