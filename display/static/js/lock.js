// Locked for wiping: nothing is tapped by a cloth. Alarms, figures and countdowns go on being seen; a finger or a key
// that is held opens it again, and so does time.
import { say } from "./words.js";

const HOLD = 2000;
const OPENS = 60000;
// A finger that is held stays where it is; a cloth does not.
const STILL = 24;
const RESTS = ["header.top", "main", ".panel", ".messages", ".offline-bar"];
let lock = null;
let until = 0;
let clock = 0;
let holding = 0;
let held = null;

export const locked = () => lock !== null && !lock.hidden;

export function start() {
  lock = document.querySelector("[data-locked]");
  if (!lock) return;
  document.addEventListener("click", (event) => event.target.closest("[data-lock]") && shut());
  const target = lock.querySelector("[data-unlock]");
  lock.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    if (held !== null || !event.isPrimary || !target.contains(event.target)) return letGo();
    held = { id: event.pointerId, x: event.clientX, y: event.clientY };
    hold();
  });
  lock.addEventListener("pointermove", (event) => {
    if (event.pointerId === held?.id && Math.hypot(event.clientX - held.x, event.clientY - held.y) > STILL) letGo();
  });
  for (const name of ["pointerup", "pointercancel", "pointerleave"]) lock.addEventListener(name, letGo);
  target.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    if (!event.repeat) hold();
  });
  for (const name of ["keyup", "blur"]) target.addEventListener(name, letGo);
  for (const name of ["touchstart", "touchmove", "wheel", "contextmenu", "click"]) lock.addEventListener(name, (event) => event.preventDefault(), { passive: false });
}

function shut() {
  lock.hidden = false;
  until = performance.now() + OPENS;
  inert(true);
  lock.querySelector("[data-unlock]").focus();
  clock = setInterval(left, 500);
  left();
}

function open() {
  letGo();
  clearInterval(clock);
  lock.hidden = true;
  inert(false);
  document.querySelector("[data-lock]")?.focus();
}

function left() {
  const seconds = Math.ceil((until - performance.now()) / 1000);
  if (seconds <= 0) return open();
  lock.querySelector("[data-opens-itself]").textContent = say("lock_opens", { seconds });
}

function inert(on) {
  for (const part of document.querySelectorAll(RESTS.join())) part.inert = on;
}

function hold() {
  letGo.call(null, true);
  lock.classList.add("holding");
  holding = setTimeout(open, HOLD);
}

function letGo(keep) {
  clearTimeout(holding);
  lock.classList.remove("holding");
  if (keep !== true) held = null;
}
