// A sentence in place of a button: what became of its tap, or that somebody was quicker. The place stays the same.
export function instead(actions, says, next = null, kind = "told") {
  const main = actions?.firstElementChild;
  if (!main) return;
  let place = actions.querySelector(":scope > .instead");
  if (!place) {
    place = Object.assign(document.createElement("div"), { className: "instead" });
    actions.append(place);
  }
  if (place.dataset.says === says) return;
  place.dataset.says = says;
  place.toggleAttribute("data-waits", kind === "waits");
  const text = Object.assign(document.createElement("p"), { textContent: says });
  text.setAttribute("role", "status");
  place.replaceChildren(text);
  place.classList.toggle("has-next", next !== null);
  if (next) place.append(next);
}

export function clear(actions) {
  actions?.querySelector(":scope > .instead")?.remove();
}
