// While the planner is at work the preview alone is fetched again: what somebody is typing above it stays.
let place = document.querySelector("[data-preview]");

async function look() {
  const answer = await fetch(location.href.split("#")[0], { headers: { Accept: "text/html" } }).catch(() => null);
  if (!answer?.ok) return setTimeout(look, 4000);
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-preview]");
  if (!fresh) return;
  if (!place.contains(document.activeElement)) {
    place.replaceWith(fresh);
    place = fresh;
  }
  if (Number(fresh.dataset.preview)) setTimeout(look, 2000);
}
if (place && Number(place.dataset.preview)) setTimeout(look, 1500);
