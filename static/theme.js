// Asks for the page anew when the device turns dark or light while the page,
// whose drawings the server colours, was made for the other.
const wanted = matchMedia("(prefers-color-scheme: dark)");
const root = document.documentElement;
const drawn = document.querySelector("[data-drawn-for]");
if (drawn && !root.dataset.theme) {
  const swap = () => {
    const theme = wanted.matches ? "dark" : "light";
    if (drawn.dataset.drawnFor !== theme) drawn.dispatchEvent(new CustomEvent("theme", { detail: theme, bubbles: true }));
  };
  wanted.addEventListener("change", swap);
  swap();
}
