// Loading an elevation grid with its progress: it is read while it is sent.
// Without this the form is sent as any other.
const form = document.querySelector("form[data-load]");
if (form) {
  const bar = form.querySelector("[data-progress]");
  const words = form.querySelector("[data-said]");
  const fault = form.querySelector("[data-fault]");
  const button = form.querySelector("button");

  const rest = (text) => {
    fault.textContent = text;
    fault.hidden = !text;
    bar.hidden = true;
    words.textContent = "";
    button.disabled = false;
    if (text) fault.scrollIntoView({ block: "nearest" });
  };

  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "text/x-part"); // what was done is told to the page that is opened then
    request.upload.addEventListener("progress", (p) => {
      if (!p.lengthComputable) return;
      const share = Math.floor((100 * p.loaded) / p.total);
      bar.value = share;
      words.textContent = share < 100 ? `${share} % loaded` : "loaded; it is being put into use";
    });
    request.addEventListener("load", () => {
      if (request.status < 400) {
        location.assign(request.responseURL);
        return;
      }
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      const said = page.querySelector(".alert[role=alert]:not([hidden])") ?? page.querySelector("main p");
      rest(said?.textContent || "The grid was not loaded.");
    });
    request.addEventListener("error", () => rest("The connection broke off, and nothing was loaded: send the grid again."));
    rest("");
    bar.hidden = false;
    button.disabled = true;
    request.send(new FormData(form));
  });
  addEventListener("pageshow", () => rest(""));
}
