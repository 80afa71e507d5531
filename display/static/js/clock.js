// The kitchen's clock: server time, rate and pause; redraws countdowns and bars each second.
// The browser's own clock is never believed: it only tells, against performance.now(), that the device has slept or
// that somebody has set it. The server is asked then; while it cannot be, time ahead is taken for sleep.
import { draw, stateOf, headOf } from "./bars.js";
import { ago, countdown, figure, length, say } from "./words.js";

const body = document.body;
const JUMP = 1500;
const clock = { at: Number(body.dataset.now), rate: Number(body.dataset.rate), heard: performance.now(), wall: Date.now() };
let slept = 0;
const local = new Intl.DateTimeFormat("en", {
  timeZone: body.dataset.zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23",
});

// A page that the service worker kept is old: its clock goes on from what was last heard.
if (body.hasAttribute("data-kept")) {
  const last = JSON.parse(localStorage.getItem("clock") ?? "null");
  if (last && last.at >= clock.at) Object.assign(clock, { at: last.at + Math.max(0, Date.now() - last.wall) * last.rate, rate: last.rate });
}

export function now() {
  return clock.at + (performance.now() - clock.heard) * clock.rate;
}

export function set({ now: at, rate }) {
  slept = 0;
  Object.assign(clock, { at, rate, heard: performance.now(), wall: Date.now() });
  if (body.classList.contains("station")) localStorage.setItem("clock", JSON.stringify({ at, rate, wall: clock.wall }));
  tick();
}

// How far the device's clock has run ahead of its running time since the server was heard.
function jumped() {
  const by = Date.now() - clock.wall - (performance.now() - clock.heard);
  if (Math.abs(by) < JUMP) return;
  clock.wall += by;
  slept += Math.max(0, by);
  document.dispatchEvent(new CustomEvent("jump", { detail: by }));
}

// No server to ask: what the device's clock ran ahead is taken for sleep. A clock set back is never believed.
export function assumeSlept() {
  clock.at += slept * clock.rate;
  slept = 0;
}

export function timeOf(at) {
  const text = local.format(at);
  if (body.dataset.clock !== "12") return text;
  const hour = Number(text.slice(0, 2));
  return `${hour % 12 || 12}${text.slice(2)}\u00a0${say(hour < 12 ? "am" : "pm")}`; // as display/formats.py writes it
}

function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function tick(root = document) {
  jumped();
  const at = now();
  for (const e of root.querySelectorAll("[data-live-clock]")) put(e, timeOf(at));
  for (const e of root.querySelectorAll("[data-until]")) figure(e, countdown((Date.parse(e.dataset.until) - at) / 1000));
  for (const e of root.querySelectorAll("[data-left]")) figure(e, length(Math.max(0, Date.parse(e.dataset.left) - at) / 60000));
  for (const e of root.querySelectorAll("[data-gone]")) put(e, length(Math.max(0, at - Date.parse(e.dataset.gone)) / 60000));
  for (const e of root.querySelectorAll("[data-age]")) put(e, ago((at - Date.parse(e.dataset.age)) / 1000));
  for (const e of root.querySelectorAll("[data-flip]"))
    put(e, Date.parse(e.dataset.flip) >= at ? e.dataset.ahead : e.dataset.over);
  for (const e of root.querySelectorAll("[data-arrival-from]")) put(e, arrival(e, at));
  for (const e of root.querySelectorAll("[data-bar]")) {
    const state = draw(e, at);
    const row = e.closest(".row, .facts-window");
    const head = row?.querySelector("[data-head]");
    if (head) put(head, headOf(e, head, at));
    const cell = row?.querySelector("[data-state-of]");
    if (cell) mark(cell, state);
  }
}

function arrival(element, at) {
  const [from, to] = [element.dataset.arrivalFrom, element.dataset.arrivalTo].map((x) => Math.max(0, Math.floor((Date.parse(x) - at) / 60000)));
  if (to < 1) return say("within_a_minute");
  return from < to && to < 60 ? `${from}–${length(to)}` : length(to);
}

function mark(cell, state) {
  const name = `state state-${state.replace(" ", "-")}`;
  if (cell.className === name) return;
  cell.className = name;
  for (const shape of cell.querySelectorAll(".mark")) shape.classList.toggle("is-on", shape.classList.contains(`mark-${state.split(" ")[0]}`));
}

export function start() {
  tick();
  setInterval(tick, 1000);
}

export { say, stateOf };
