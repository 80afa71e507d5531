// A screen that waits to be paired: asks every two seconds, and goes on by itself.
const place = document.querySelector("[data-pairing]");

async function ask() {
  try {
    const answer = await fetch("/pair/state", { headers: { Accept: "application/json" }, signal: AbortSignal.timeout(5000) });
    const { state } = await answer.json();
    if (state === "in") return location.replace(place.dataset.back);
    if (state === "out") return over();
  } catch {
    // No link just now: it is asked again.
  }
  setTimeout(ask, 2000);
}

function over() {
  place.hidden = true;
  document.querySelector("[data-waits]").hidden = true;
  document.querySelector("[data-over]").hidden = false;
  document.querySelector("[data-again]").hidden = false;
}

if (place) ask();
