// Has the drawings of a page coloured anew by the server when the device turns
// dark or light (see theme.js, which tells when).
for (const box of document.querySelectorAll("[data-drawn-for]")) {
  box.addEventListener("theme", async (event) => {
    const theme = event.detail;
    const parts = [...box.querySelectorAll("[data-drawing]")];
    try {
      const drawings = await Promise.all(parts.map((part) => draw(part.dataset.drawing, theme)));
      parts.forEach((part, i) => part.replaceChildren(drawings[i]));
      box.dataset.drawnFor = theme;
    } catch {
      // No connection: the drawing stays as it was, legible on its own paper.
    }
  });
}

async function draw(address, theme) {
  const answer = await fetch(address + (address.includes("?") ? "&" : "?") + "theme=" + theme);
  if (!answer.ok) throw new Error("no drawing");
  const doc = new DOMParser().parseFromString(await answer.text(), "image/svg+xml");
  if (doc.documentElement.localName !== "svg") throw new Error("no drawing");
  return document.adoptNode(doc.documentElement);
}
