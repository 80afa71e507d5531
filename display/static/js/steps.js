// The method one step at a time, between two large targets; the amounts come first. Where somebody is stays so through
// every renewal and reload.
import { say } from "./words.js";

const place = {
  of: (task) => Number(localStorage.getItem(`step ${task}`) ?? 0),
  set: (task, at) => (at ? localStorage.setItem(`step ${task}`, at) : localStorage.removeItem(`step ${task}`)),
};

export function turnTo(box) {
  const lines = [...box.querySelectorAll(".steps li")];
  const turn = box.querySelector(".turn");
  if (!turn) return;
  // Amounts have a page of their own before the first step.
  const first = box.querySelector(".amounts") ? 1 : 0;
  const pages = lines.length + first;
  const at = Math.min(place.of(box.dataset.do), pages - 1);
  const step = at - first;
  box.classList.toggle("is-step", step >= 0);
  turn.hidden = false;
  lines.forEach((line, i) => (line.hidden = i !== step));
  const [back, on] = turn.children;
  back.disabled = at === 0;
  on.disabled = at === pages - 1;
  back.setAttribute("aria-label", say("step_back"));
  on.setAttribute("aria-label", say("step_on"));
  const shown = lines[step];
  if (shown) fit(box.querySelector(".steps"), shown);
}

// A long step is written smaller before any of it would be cut.
function fit(list, line) {
  list.classList.remove("is-long", "is-very-long");
  for (const size of ["is-long", "is-very-long"]) {
    if (list.scrollHeight <= list.clientHeight + 1) return;
    list.classList.remove("is-long");
    list.classList.add(size);
  }
  line.scrollTop = 0;
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-turn]");
  const box = button?.closest("[data-do]");
  if (!box) return;
  place.set(box.dataset.do, Math.max(0, place.of(box.dataset.do) + Number(button.dataset.turn)));
  turnTo(box);
  box.dispatchEvent(new CustomEvent("turned", { bubbles: true }));
});
