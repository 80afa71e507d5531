// What waits to be sent, shown: a count in the header, the times in the bar that says the screen is cut off, a list with
// a way to take each back, and in place of the buttons that were tapped.
import { timeOf } from "./clock.js";
import { clear, instead } from "./instead.js";
import { answer } from "./messages.js";
import { all, drop } from "./queue.js";
import { say } from "./words.js";

const field = (tap, name) => tap.fields.find(([key]) => key === name)?.[1];
const time = (tap) => timeOf(Date.parse(tap.at));

export function start() {
  document.addEventListener("queue", showAll);
  document.addEventListener("renewed", mark);
  document.addEventListener("link", showAll);
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-waiting]")) document.getElementById("waiting")?.showModal();
    const taken = event.target.closest("[data-drop]");
    if (taken) drop(taken.dataset.drop);
  });
  showAll();
}

function showAll() {
  const taps = all();
  for (const button of document.querySelectorAll("[data-waiting]")) {
    button.hidden = !taps.length;
    button.textContent = say(taps.some((tap) => tap.refused) ? "taps_refused" : "taps_wait", { count: taps.filter((tap) => taps.every((one) => !one.refused) || tap.refused).length });
  }
  const line = document.querySelector("[data-kept-line]");
  if (line) line.textContent = taps.length ? say("taps_kept", { count: taps.length, what: taps.map((tap) => `${tap.says} ${time(tap)}`).join(" · ") }) : "";
  const list = document.querySelector("#waiting ul");
  if (list) list.replaceChildren(...taps.map(entry));
  if (!taps.length) document.getElementById("waiting")?.close();
  mark();
}

function entry(tap) {
  const row = document.createElement("li");
  const text = document.createElement("p");
  text.append(Object.assign(document.createElement("b"), { textContent: `${time(tap)} ${tap.says}` }));
  text.append(` ${tap.refused ? `${tap.refused.says} ${tap.refused.remedy}` : say("tap_waits_short")}`);
  const button = Object.assign(document.createElement("button"), { type: "button", textContent: say(tap.refused ? "tap_read" : "tap_drop") });
  button.dataset.drop = tap.id;
  const asks = (tap.refused?.asks ?? []).map((one) => {
    const form = answer(one);
    form.addEventListener("answered", () => drop(tap.id));
    return form;
  });
  row.append(text, ...asks, button);
  return row;
}

function mark() {
  const taps = all().filter((tap) => !tap.refused);
  for (const job of document.querySelectorAll(".job[data-task], .idle[data-task]")) {
    const mine = taps.filter((tap) => field(tap, "task") === job.dataset.task);
    const last = mine.findLast((tap) => /\/(start|finish|skip)$/.test(tap.action)) ?? trays(job, mine.filter((tap) => tap.action.endsWith("/tray")));
    const actions = job.querySelector(".actions");
    if (last) instead(actions, says(last), /\/(start|tray)$/.test(last.action) ? finish(job) : null, "waits");
    else if (actions?.querySelector(".instead[data-waits]")) clear(actions);
  }
}

const says = (tap) => say("tap_waits", { what: tap.says.split(",")[0], time: time(tap) });

// A step whose start waits can be finished too: the work goes on.
function finish(job) {
  if (!job.classList.contains("job")) return null;
  if (job.dataset.measure) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: say("finish_step") });
    button.dataset.choose = "finish";
    return button;
  }
  return answer({ label: say("finish_step"), action: "/acts/finish", fields: { task: job.dataset.task } });
}

// Trays that wait are counted here already: the next tap is for the next tray. Returns the last one's tap once all are out.
function trays(job, taps) {
  const before = job.querySelector("form[action$='/acts/tray'] input[name=made_before]");
  const shown = job.querySelector("[data-made]");
  if (!before || !shown) return null;
  const wanted = Number(job.dataset.wanted);
  const made = taps.reduce((sum, tap) => Math.max(sum, Number(field(tap, "made_before")) + Number(field(tap, "pieces"))), Number(shown.dataset.made));
  before.value = made;
  shown.textContent = made;
  before.form.querySelector("input[name=pieces]").value = Math.max(0, Math.min(Number(job.dataset.tray), wanted - made));
  return taps.length && made >= wanted ? taps.at(-1) : null;
}
