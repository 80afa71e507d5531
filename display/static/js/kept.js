// The last state of a station's screen, for a reload without a link: its panels as they last came, and the service
// worker that keeps the page round them. Elsewhere than on loopback or TLS browsers have no service worker: then the
// taps are kept all the same, and a reload needs the link.
const body = document.body;
const station = body.classList.contains("station");
const name = (panel) => `kept ${body.dataset.language} ${body.dataset.clock} ${body.dataset.amounts} ${panel}`;

export const canKeep = "serviceWorker" in navigator;

export function keepPanel(panel, html) {
  if (!station) return;
  try {
    localStorage.setItem(name(panel), html);
  } catch {
    localStorage.removeItem(name(panel)); // full: an older state would be worse than none
  }
}

// A kept page was loaded without a link: what came since it was rendered is put in.
export function restore(renew) {
  if (!body.hasAttribute("data-kept")) return false;
  document.querySelector("[data-messages]").replaceChildren();
  for (const place of document.querySelectorAll("[data-panel]")) {
    const html = localStorage.getItem(name(place.dataset.panel));
    if (html !== null) renew(place.dataset.panel, html);
  }
  return true;
}

// After each load the worker is told what this page is made of.
export async function start() {
  if (!canKeep || !station) return;
  try {
    await navigator.serviceWorker.register("/worker.js");
    const ready = await navigator.serviceWorker.ready;
    if (body.hasAttribute("data-kept")) return;
    const made = performance.getEntriesByType("resource").map((e) => e.name).filter((url) => url.includes("/static/"));
    made.push(new URL("/static/js/shared.js", location).href); // a worker's script is not among them
    ready.active.postMessage({ keep: [...new Set(made)], page: location.pathname });
  } catch {
    // refused by the browser's settings: as without one
  }
}
