// Asks for the page anew when the device turns dark or light while the page,
// whose drawings the server colours, was made for the other.
const wanted = matchMedia("(prefers-color-scheme: dark)");
const root = document.documentElement;
const drawn = [...document.querySelectorAll("[data-drawn-for]")];
if (drawn.length > 0 && !root.dataset.theme) {
  const swap = () => {
    const theme = wanted.matches ? "dark" : "light";
    for (const box of drawn) {
      if (box.dataset.drawnFor !== theme) box.dispatchEvent(new CustomEvent("theme", { detail: theme, bubbles: true }));
    }
  };
  wanted.addEventListener("change", swap);
  swap();
}
