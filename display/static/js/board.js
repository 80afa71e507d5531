// The board's keys, zoom and details. Every way is a link that works without this.
import { children } from "./morph.js";
import { tick } from "./clock.js";

const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const LENGTHS = ["all", "day", "half", "hour"];
const MINUTES = { day: 1440, half: 720, hour: 60 };
const board = document.querySelector(".board-wide");
const aside = document.querySelector("[data-detail]");
const place = aside.querySelector("[data-detail-place]");
let source = null;

function middle(block) {
  const { left, right, top, bottom } = block.querySelector(".box").getBoundingClientRect();
  return [(left + right) / 2, (top + bottom) / 2];
}

function taskOf(link) {
  const path = link?.getAttribute("href") ?? "";
  return path.startsWith("/task/") ? path.slice(6) : "";
}

function blockOf(task) {
  return task ? board.querySelector(`.plan svg a[href="/task/${CSS.escape(task)}"]`) : null;
}

// -- arrows: to the nearest block in that direction; Tab and Enter work as everywhere
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !aside.hidden) return close();
  const way = WAYS[event.key];
  const here = event.target.closest?.(".plan svg a");
  if (!way || !here || event.altKey || event.ctrlKey || event.metaKey) return;
  const [x, y] = middle(here);
  let best = null;
  let least = Infinity;
  for (const block of board.querySelectorAll(".plan svg a[href]")) {
    if (block === here) continue;
    const [dx, dy] = [middle(block)[0] - x, middle(block)[1] - y];
    const along = dx * way[0] + dy * way[1];
    const across = Math.abs(dx * way[1]) + Math.abs(dy * way[0]);
    if (along <= 1) continue;
    const far = along + 3 * across;
    if (far < least) [best, least] = [block, far];
  }
  if (!best) return;
  event.preventDefault();
  best.focus();
});

// -- details: below the board, live; what was clicked stays in sight
board.addEventListener("click", (event) => {
  const link = event.target.closest(".plan svg a");
  const task = taskOf(link);
  if (!task || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  link.focus({ preventScroll: true });
  open(task);
});

aside.addEventListener("click", (event) => {
  if (!event.target.closest("[data-detail-close]")) return;
  event.preventDefault();
  close();
});

function listen(task) {
  source?.close();
  const { language, role, clock } = document.body.dataset;
  const panel = `board-task:${task}`;
  source = new EventSource(`/streams?${new URLSearchParams({ panels: panel, language, role, clock })}`);
  source.addEventListener("panel", (message) => {
    const fresh = document.createElement("template");
    fresh.innerHTML = JSON.parse(message.data).html;
    children(place.firstElementChild, fresh.content);
    tick(place);
    show(blockOf(task));
  });
}

function open(task) {
  const holder = document.createElement("div");
  holder.className = "panel panel-board-task";
  place.replaceChildren(holder);
  aside.dataset.detail = task;
  aside.hidden = false;
  const at = new URL(location.href);
  at.searchParams.set("open", task);
  history.replaceState(null, "", at);
  mark();
  listen(task);
}

function close() {
  const block = blockOf(aside.dataset.detail);
  source?.close();
  aside.hidden = true;
  aside.dataset.detail = "";
  place.replaceChildren();
  const at = new URL(location.href);
  at.searchParams.delete("open");
  history.replaceState(null, "", at);
  mark();
  block?.focus({ preventScroll: true });
}

function show(block) {
  if (!block || aside.hidden) return;
  const hidden = block.querySelector(".box").getBoundingClientRect().bottom + 8 - aside.getBoundingClientRect().top;
  if (hidden > 0) scrollBy(0, hidden);
}

function mark() {
  const task = aside.dataset.detail;
  for (const link of board.querySelectorAll(".plan svg a[aria-current]"))
    if (taskOf(link) !== task) link.removeAttribute("aria-current");
  for (const link of board.querySelectorAll(".plan svg a[href]"))
    if (task && taskOf(link) === task && !link.hasAttribute("aria-current")) link.setAttribute("aria-current", "true");
}
new MutationObserver(mark).observe(board, { childList: true, subtree: true, attributes: true, attributeFilter: ["aria-current"] });

// -- zoom: the instant under the pointer, or of the block with the focus, stays where it is
function plot() {
  const { left, right } = board.querySelector(".row-days .days").getBoundingClientRect();
  const { start, end } = board.querySelector(".plan").dataset;
  return { left, width: right - left, start: Number(start), length: end - start };
}

function spanNow() {
  return board.querySelector("[data-span][aria-current]").dataset.span;
}

function localOf(at) {
  const zone = document.body.dataset.zone;
  return new Intl.DateTimeFormat("sv-SE", { timeZone: zone, dateStyle: "short", timeStyle: "short" }).format(at).replace(" ", "T");
}

function zoom(span, x) {
  const at = new URL(location.href);
  at.searchParams.delete("day");
  if (span === "all") {
    for (const name of ["span", "from"]) at.searchParams.delete(name);
  } else {
    const { left, width, start, length } = plot();
    const share = Math.min(1, Math.max(0, (x - left) / width));
    at.searchParams.set("span", span);
    at.searchParams.set("from", localOf(start + share * length - share * MINUTES[span] * 60000));
  }
  leave();
  location.assign(at);
}

function focused() {
  const link = document.activeElement?.closest?.(".plan svg a") ?? blockOf(aside.dataset.detail) ?? blockOf(last);
  return link ? middle(link)[0] : null;
}

let last = "";
board.addEventListener("focusin", (event) => {
  const task = taskOf(event.target.closest?.(".plan svg a"));
  if (task) last = task;
});

board.addEventListener("click", (event) => {
  const link = event.target.closest(".board-bar a, .row-days a");
  if (!link || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const x = link.dataset.span ? focused() : null;
  leave();
  if (x === null || link.dataset.span === spanNow()) return;
  event.preventDefault();
  zoom(link.dataset.span, x);
});

board.addEventListener("dblclick", (event) => {
  if (!event.target.closest(".plot") || event.target.closest("a")) return;
  const next = LENGTHS.indexOf(spanNow()) + (event.shiftKey ? -1 : 1);
  if (LENGTHS[next]) zoom(LENGTHS[next], event.clientX);
});

let turned = 0;
board.addEventListener("wheel", (event) => {
  if (!event.ctrlKey || !event.target.closest(".plot")) return;
  event.preventDefault();
  turned += event.deltaY;
  if (Math.abs(turned) < 60) return;
  const next = LENGTHS.indexOf(spanNow()) + (turned < 0 ? 1 : -1);
  turned = 0;
  if (LENGTHS[next]) zoom(LENGTHS[next], event.clientX);
}, { passive: false });

// -- another page of the board begins where this one was left
function leave() {
  const active = document.activeElement;
  const bar = active?.closest?.(".board-bar a");
  sessionStorage.setItem("board left", JSON.stringify({ top: scrollY, task: last, span: bar?.dataset.span, by: bar?.dataset.by, rel: bar?.rel }));
}

const left = JSON.parse(sessionStorage.getItem("board left") ?? "null");
sessionStorage.removeItem("board left");
if (left) {
  scrollTo(0, left.top);
  last = left.task;
  const bar = ["span", "by"].map((name) => left[name] && board.querySelector(`.board-bar [data-${name}="${left[name]}"]`)).find(Boolean)
    ?? (left.rel && board.querySelector(`.board-bar [rel="${left.rel}"]`));
  (bar || blockOf(left.task))?.focus({ preventScroll: true });
}
mark();
show(blockOf(aside.dataset.detail));
