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

// A tap on the text itself shows the step large, to be read from where the hands are.
let open = "";
const boxOf = (task) => document.querySelector(`[data-do="${CSS.escape(task)}"]`);

function enlarge(box) {
  const sheet = document.getElementById("choose-step");
  const lines = [...box.querySelectorAll(".steps li")];
  const step = Math.max(0, lines.findIndex((line) => !line.hidden));
  open = box.dataset.do;
  sheet.querySelector("[data-of]").textContent = box.closest("[data-title]").dataset.title;
  sheet.querySelector("[data-step-large]").textContent = lines[step].textContent;
  const [back, on] = sheet.querySelector("[data-turns]").children;
  [back.disabled, on.disabled] = [step === 0, step === lines.length - 1];
  if (!sheet.open) sheet.showModal();
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-turn]");
  const box = button?.closest("[data-do]") ?? (button?.closest("#choose-step") ? boxOf(open) : null);
  if (box) {
    // What is read large begins with the first step, not with the amounts.
    const least = button.closest("#choose-step") && box.querySelector(".amounts") ? 1 : 0;
    place.set(box.dataset.do, Math.max(least, Math.max(least, place.of(box.dataset.do)) + Number(button.dataset.turn)));
    turnTo(box);
    box.dispatchEvent(new CustomEvent("turned", { bubbles: true }));
    if (button.closest("#choose-step")) enlarge(box);
  } else if (!button) {
    const text = event.target.closest("[data-do] .steps, [data-do] .line");
    if (text) enlarge(text.closest("[data-do]"));
  }
});
