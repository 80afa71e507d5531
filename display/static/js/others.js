// Somebody else was quicker: for a moment a sentence stands where the button was, so that a thumb on its way counts
// nothing twice and nothing else. After a tap of one's own the button only rests for as long as a glove rebounds.
import { clear, instead } from "./instead.js";
import { say } from "./words.js";

const SAID = 5000;
const REBOUND = 600;
const OWN = 3000;
let before = [];
let saidBefore = "";
let ownUntil = -Infinity;

const columns = () => [...document.querySelectorAll(".hand > .job, .idle")].map((job) => {
  const main = job.querySelector(".actions > :first-child");
  const fields = main?.matches("form") ? [...new FormData(main)].filter(([name]) => name !== "command_id").map(String).join() : "";
  return { job, title: job.querySelector("h2 a")?.textContent ?? "", task: job.dataset.task ?? "", main: `${main?.getAttribute("action") ?? main?.getAttribute("href") ?? ""} ${fields}` };
});

const lastSays = () => document.querySelector("[data-last-says]")?.dataset ?? {};

export function start() {
  for (const name of ["delivering", "answered"]) document.addEventListener(name, () => (ownUntil = performance.now() + OWN));
  document.addEventListener("click", (event) => event.target.closest(".told") && event.preventDefault(), true);
  document.addEventListener("renewing", (event) => {
    if (!event.detail.panel.startsWith("station-hand")) return;
    before = columns();
    saidBefore = lastSays().lastSays;
  });
  document.addEventListener("renewed", (event) => {
    if (event.detail.panel.startsWith("station-hand")) compare();
  });
}

function compare() {
  const own = performance.now() < ownUntil;
  columns().forEach((column, at) => {
    const was = before[at];
    if (!was || (was.task === column.task && was.main === column.main)) return;
    const actions = column.job.querySelector(".actions");
    if (!actions) return;
    if (own) rest(actions);
    else speak(actions, column, was);
  });
}

function rest(actions) {
  actions.classList.add("resting");
  setTimeout(() => actions.classList.remove("resting"), REBOUND);
}

function speak(actions, column, was) {
  const told = lastSays();
  // Only an act that is new explains the change: what moved by itself is not laid at anybody's door.
  const acted = told.lastTitle === was.title && told.lastSays && told.lastSays !== saidBefore;
  const says = acted ? told.lastSays : say("changed_here", { title: was.title });
  instead(actions, says);
  actions.classList.add("told");
  clearTimeout(actions.telling);
  actions.telling = setTimeout(() => {
    actions.classList.remove("told");
    if (actions.querySelector(".instead")?.dataset.says === says) clear(actions);
  }, SAID);
}
