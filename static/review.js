// While parts of a review are being worked, those that wait are asked for anew
// until they are there. Without this the link "Look again" does it.
const pause = 1500;

async function again() {
  const waiting = [...document.querySelectorAll(".reviewpart[data-waiting]")];
  const line = document.querySelector("[data-working]");
  if (!waiting.length && !line) return;
  try {
    const r = await fetch(location.pathname + location.search, { headers: { Accept: "text/x-part" } });
    if (r.ok) {
      const page = new DOMParser().parseFromString(await r.text(), "text/html");
      for (const part of waiting) {
        const fresh = page.getElementById(part.id);
        if (fresh && !part.contains(document.activeElement)) part.replaceWith(document.adoptNode(fresh));
      }
      const said = page.querySelector("[data-working]");
      if (line && !said) line.remove();
      else if (line && !line.contains(document.activeElement)) line.replaceWith(document.adoptNode(said));
    }
  } catch (e) {
    console.info("could not look again:", e.message);
  }
  setTimeout(again, pause);
}

setTimeout(again, pause);
