// 'Where I stand': fills a field with the position that the device tells, and
// says in words why there is none.
const why = {
  1: "The device may not tell where it is: allow it in the browser's settings, or type the position.",
  2: "The device does not know where it is just now: step into the open and press again, or type the position.",
  3: "The device found no position within half a minute: press again, or type the position.",
};

for (const button of document.querySelectorAll("[data-here]")) {
  const to = document.querySelector(button.dataset.here);
  const accuracy = document.querySelector(button.dataset.accuracy);
  const said = button.closest("fieldset")?.querySelector("[data-here-said]");
  if (!to || !navigator.geolocation) continue;
  button.hidden = false;
  const say = (text) => {
    if (said) said.textContent = text;
  };
  button.addEventListener("click", () => {
    button.disabled = true;
    say("Asking the device …");
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        to.value = `${coords.latitude.toFixed(6)}, ${coords.longitude.toFixed(6)}`;
        if (accuracy) accuracy.value = `${Math.max(1, Math.round(coords.accuracy))} m`;
        say(`Found, good to within ${Math.max(1, Math.round(coords.accuracy))} m.`);
        button.disabled = false;
      },
      (error) => {
        say(why[error.code] ?? why[2]);
        button.disabled = false;
      },
      { enableHighAccuracy: true, timeout: 30000, maximumAge: 5000 },
    );
  });
}
