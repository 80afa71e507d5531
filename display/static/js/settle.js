// What is fitted into a panel after it has come or changed: ticks of what is weighed, rows that fit.
import { turnTo } from "./steps.js";
import * as ticks from "./ticks.js";
import { say } from "./words.js";

export function settle(root = document) {
  for (const job of root.querySelectorAll(".job")) crowd(job);
  for (const box of root.querySelectorAll("[data-do]")) turnTo(box);
  for (const list of root.querySelectorAll(".amounts[data-amounts]")) fold(list);
  // A line above the rows leaves them less room.
  if (root.querySelector("[data-rows]") || root.dataset?.panel === "tonight") fit();
}

// Weighed ones fold to a count, so that what is left to weigh is seen.
function fold(list) {
  const boxes = [...list.querySelectorAll("[data-tick]")];
  for (const old of list.querySelectorAll(".weighed")) old.remove();
  const done = boxes.filter((box) => (box.checked = ticks.has(box)));
  for (const box of boxes) box.closest(".amount").hidden = done.length > 1 && box.checked;
  if (done.length > 1) {
    const label = document.createElement("label");
    label.className = "weighed";
    label.dataset.key = "weighed"; // no renewal takes it for one of the amounts
    const box = Object.assign(document.createElement("input"), { type: "checkbox", checked: true });
    box.addEventListener("change", () => {
      ticks.set(done.at(-1), false);
      fold(list);
    });
    const text = document.createElement("span");
    text.textContent = say("weighed", { count: done.length, names: done.map((d) => d.dataset.said).join(", ") });
    label.append(box, text);
    list.prepend(label);
  }
  crop(list);
}

// Lines that cautions take: the server can only guess, and what gives way for them should not do so for nothing.
function crowd(job) {
  const heed = job.querySelector(".heed");
  if (!heed) return;
  job.classList.remove("heed-3", "heed-4", "heed-5");
  const lines = Math.round(heed.scrollHeight / 20);
  if (lines > 2) job.classList.add(`heed-${Math.min(lines, 5)}`);
}

// One row of amounts; what has no room is counted, and stands on the details page.
function crop(list) {
  list.querySelector(".more-amounts")?.remove();
  const chips = [...list.querySelectorAll(".amount:not([hidden]), .weighed")];
  for (const chip of chips) chip.classList.remove("cropped");
  if (list.scrollWidth <= list.clientWidth) return;
  const more = document.createElement("a");
  more.className = "more-amounts";
  more.href = `/task/${list.dataset.amounts}`;
  more.dataset.choose = "amounts";
  list.append(more);
  const cropped = [];
  for (const chip of chips.slice(1).reverse()) {
    more.textContent = say("and_more", { count: cropped.length });
    if (cropped.length && list.scrollWidth <= list.clientWidth) break;
    chip.classList.add("cropped");
    cropped.push(chip);
  }
  more.textContent = say("and_more", { count: cropped.length });
  if (list.scrollWidth <= list.clientWidth) return;
  more.ariaLabel = more.textContent;  // the first amount is long: the number alone has room
  more.textContent = `+${cropped.length}`;
}

// Shows as many rows as have room, shared between both lists, and says how many are not seen.
export function fit() {
  const panel = document.querySelector(".horizon");
  if (!panel) return;
  const lists = [...panel.querySelectorAll("[data-rows]")];
  const small = matchMedia("(max-width: 700px)").matches;
  const room = small ? 24 : Math.max(2, Math.floor((panel.clientHeight - 27 * lists.length - 30) / 50));
  const counts = lists.map((list) => list.children.length);
  const shown = counts.map(() => 0);
  for (let left = room; left > 0; ) {
    let took = false;
    for (let i = 0; i < lists.length && left > 0; i++)
      if (shown[i] < counts[i]) { shown[i]++; left--; took = true; }
    if (!took) break;
  }
  let more = 0;
  lists.forEach((list, i) => {
    [...list.children].forEach((row, at) => (row.hidden = at >= shown[i]));
    more += counts[i] - shown[i] + Number(list.dataset.already);
  });
  const foot = panel.querySelector("[data-more]");
  if (foot) foot.textContent = more ? say("and_more", { count: more }) : "";
}

document.addEventListener("change", (event) => {
  const box = event.target.closest?.("[data-tick]");
  if (!box) return;
  ticks.set(box, box.checked);
  // The same amount may be ticked in its column, or on the sheet that shows all of them.
  const list = document.querySelector(`.amounts[data-amounts="${CSS.escape(box.dataset.tick)}"]`);
  if (list) fold(list);
});
// What was folded while another page of the method stood there is measured once it is seen.
document.addEventListener("turned", (event) => {
  for (const list of event.target.querySelectorAll(".amounts[data-amounts]")) fold(list);
});
addEventListener("resize", () => settle());
