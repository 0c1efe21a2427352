// The line of a section drawn on the map: the link asks for its beginning, a
// pick there puts it into the address (so that the map shows it, and moving and
// reload keep it), and the next pick is its end. More bends are added on the
// section's own page.
const box = document.querySelector("[data-map]");
const link = document.querySelector("[data-section]");
if (box && link) start(box, link);

function start(box, link) {
  const hint = document.querySelector("[data-hint]");
  const usual = hint?.textContent;
  const words = link.textContent;
  const begun = new URLSearchParams(box.dataset.query).get("line") || "";
  const first = begun && !begun.includes(";") ? begun : "";
  let asking = first !== "";

  const tell = () => {
    box.classList.toggle("lining", asking);
    link.textContent = asking ? "No section after all" : words;
    if (!hint) return;
    hint.textContent = !asking ? usual : first ? "Now pick where the line ends, or press Enter for the middle." : "Pick where the line begins, or press Enter for the middle.";
    hint.setAttribute("role", "status");
  };

  link.addEventListener("click", (e) => {
    if (e.ctrlKey || e.metaKey || e.shiftKey) return;
    e.preventDefault();
    if (asking && first) {
      location.assign("/?" + without(new URLSearchParams(location.search), "line"));
      return;
    }
    asking = !asking;
    tell();
    if (asking) box.focus();
  });

  box.addEventListener("spot", (e) => {
    if (!asking) return;
    e.preventDefault();
    const here = `${e.detail.lon.toFixed(6)},${e.detail.lat.toFixed(6)}`;
    const p = new URLSearchParams(location.search);
    if (!first) {
      p.set("line", here);
      p.delete("at");
      location.assign(`/?${p}`);
      return;
    }
    const q = new URLSearchParams({ line: `${first};${here}` });
    for (const name of ["from", "to", "use", "met", "plate", "dmin", "dmax", "ymin", "ymax", "picks", "marked"]) {
      if (p.get(name)) q.set(name, p.get(name));
    }
    location.assign(`/section?${q}`);
  });
  tell();
}

function without(params, name) {
  params.delete(name);
  return params;
}
