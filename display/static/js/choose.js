// Two taps for what is needed in a hurry: a button opens its choices on the spot, the second tap sends. Without a
// script the same buttons lead to the task's page.
import * as ticks from "./ticks.js";

export function start() {
  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-choose]");
    if (opener) choose(event, opener);
    if (event.target.closest("[data-dismiss]")) event.target.closest("dialog").close();
    // A tap beside the sheet closes it.
    if (event.target.matches?.("dialog.sheet-over")) event.target.close();
  });
  document.addEventListener("submit", (event) => {
    const dialog = event.target.closest("dialog");
    if (dialog && event.target.matches("[data-act]") && dialog.id !== "waiting") setTimeout(() => dialog.close());
  });
}

function choose(event, opener) {
  const dialog = document.getElementById(`choose-${opener.dataset.choose}`);
  const job = opener.closest("[data-task]");
  if (!dialog || !job) return;
  event.preventDefault();
  for (const field of dialog.querySelectorAll("input[name=task]")) field.value = job.dataset.task;
  dialog.dataset.title = job.dataset.title;
  dialog.querySelector("[data-of]").textContent = job.dataset.title;
  if (opener.dataset.choose === "finish") measure(dialog, job);
  if (opener.dataset.choose === "amounts") showAll(dialog, job);
  dialog.showModal();
  dialog.querySelector("[name=measured]")?.focus();
}

function measure(dialog, job) {
  dialog.querySelector("[name=measure]").value = job.dataset.measure;
  dialog.querySelector("[data-measure-label]").textContent = job.dataset.measureLabel;
  const field = dialog.querySelector("[name=measured]");
  // What was refused is still there to be mended.
  if (dialog.dataset.for !== job.dataset.task) field.value = "";
  dialog.dataset.for = job.dataset.task;
  if (!field.value && job.dataset.measure === "count") field.value = job.querySelector("[data-made]")?.textContent ?? "";
  field.inputMode = job.dataset.measureKeys;
}

// All that is weighed for a step, where the column has room for some of it only; ticked here as well as there.
function showAll(dialog, job) {
  const place = dialog.querySelector("[data-all-amounts]");
  const labels = [...job.querySelectorAll(".amounts[data-amounts] .amount")].map((label) => {
    const copy = label.cloneNode(true);
    copy.classList.remove("cropped");
    copy.hidden = false;
    copy.querySelector("input").checked = ticks.has(label.querySelector("input"));
    return copy;
  });
  place.replaceChildren(...labels);
  dialog.addEventListener("close", () => place.replaceChildren(), { once: true });
}
