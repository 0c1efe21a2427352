// While the score of the past is being worked, its part of the page is asked
// for anew until it is there. Without this the link "Look again" does it.
const pause = 1500;

async function again() {
  const part = document.querySelector("#past[data-working]");
  if (!part) return;
  try {
    const r = await fetch(location.pathname + location.search, { headers: { Accept: "text/x-part" } });
    if (r.ok) {
      const fresh = new DOMParser().parseFromString(await r.text(), "text/html").querySelector("#past");
      // Who has moved into this part keeps the focus where it was.
      if (fresh && !part.contains(document.activeElement)) part.replaceWith(document.adoptNode(fresh));
    }
  } catch (e) {
    console.info("could not look again:", e.message);
  }
  setTimeout(again, pause);
}

setTimeout(again, pause);
