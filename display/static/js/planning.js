// While the planner is at work what it has to say alone is fetched again: what somebody is typing beside it stays.
const places = () => [...document.querySelectorAll("[data-preview]")];
const atWork = (page) => [...page.querySelectorAll("[data-preview]")].some((place) => Number(place.dataset.preview));

async function look() {
  const answer = await fetch(location.href.split("#")[0], { headers: { Accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return setTimeout(look, 4000);
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const more = atWork(fresh); // before its parts are taken out of it
  const held = places().some((place) => place.contains(document.activeElement));
  if (!held) {
    for (const place of places()) {
      const now = fresh.getElementById(place.id);
      if (now) place.replaceWith(now);
    }
    // What is carried out is what is shown now.
    const basis = document.querySelector("input[name=based_on]");
    const later = fresh.querySelector("input[name=based_on]");
    if (basis && later) basis.value = later.value;
  }
  if (held || more) setTimeout(look, 2000);
}
if (atWork(document)) setTimeout(look, 1500);
