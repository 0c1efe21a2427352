// Sending a file with its progress, by choosing or by dropping it, and the
// progress of work on it. Without this the form is sent as any other, and the
// page of the work asks for itself anew.
const form = document.querySelector("form[data-send]");
if (form) {
  const input = form.querySelector("input[type=file]");
  const bar = form.querySelector("[data-progress]");
  const words = form.querySelector("[data-said]");
  const fault = form.querySelector("[data-fault]");
  const button = form.querySelector("button");
  form.querySelector("[data-drop]").hidden = false;

  const refuse = (text) => {
    fault.textContent = text;
    fault.hidden = false;
    bar.hidden = true;
    words.textContent = "";
    button.disabled = false;
  };

  const send = (file) => {
    const body = new FormData();
    body.append("file", file, file.name);
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "text/html");
    request.upload.addEventListener("progress", (e) => {
      if (!e.lengthComputable) return;
      const share = Math.floor((100 * e.loaded) / e.total);
      bar.value = share;
      words.textContent = share < 100 ? `${share} % sent` : "sent; it is being looked at";
    });
    request.addEventListener("load", () => {
      if (request.status < 400) {
        location.assign(request.responseURL);
        return;
      }
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      const said = page.querySelector(".alert:not([hidden])") ?? page.querySelector("main p");
      refuse(said?.textContent || "The file was not taken.");
    });
    request.addEventListener("error", () => refuse("The connection broke off: send the file again."));
    fault.hidden = true;
    bar.hidden = false;
    button.disabled = true;
    request.send(body);
  };

  form.addEventListener("submit", (e) => {
    if (!input.files.length) return;
    e.preventDefault();
    send(input.files[0]);
  });
  addEventListener("pageshow", () => { button.disabled = false; bar.hidden = true; words.textContent = ""; });
  let depth = 0;
  const over = (on) => form.classList.toggle("over", on);
  addEventListener("dragenter", (e) => { e.preventDefault(); over(++depth > 0); });
  addEventListener("dragleave", () => over(--depth > 0));
  addEventListener("dragover", (e) => e.preventDefault());
  addEventListener("drop", (e) => {
    e.preventDefault();
    depth = 0;
    over(false);
    if (e.dataTransfer.files.length) send(e.dataTransfer.files[0]);
  });
}

const pause = 700;

async function again() {
  const part = document.querySelector("[data-working]");
  if (!part) return;
  try {
    const r = await fetch(location.href, { headers: { Accept: "text/x-part" }, cache: "no-store" });
    const fresh = new DOMParser().parseFromString(await r.text(), "text/html").querySelector("[data-working]");
    if (!fresh) {
      location.replace(r.url);
      return;
    }
    for (const what of ["progress", "[role=status]"]) {
      const now = part.querySelector(what);
      const then = fresh.querySelector(what);
      if (now && then && what === "progress" && then.hasAttribute("value")) now.value = then.value;
      else if (now && then) now.textContent = then.textContent;
    }
  } catch (e) {
    console.info("could not look again:", e.message);
  }
  setTimeout(again, pause);
}

setTimeout(again, pause);
