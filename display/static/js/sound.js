// Sounds, made here: told apart by rhythm, between 500 and 1500 Hz, for extractor noise and older ears.
// An alarm: three falling notes every 10 s until it is seen. A window that closes: two equal notes each minute, three
// times. A task that is due: one note. Silence never hides anything on the screen.
import { setting } from "./settings.js";

export const PATTERNS = {
  alarm: [[1318, 0, 0.28], [988, 0.34, 0.28], [659, 0.68, 0.42]],
  closing: [[880, 0, 0.2], [880, 0.32, 0.2]],
  due: [[784, 0, 0.35]],
};
const EVERY = { alarm: 10000, closing: 60000 };
const CLOSING_TIMES = 3;
let context = null;
let alarmAt = -Infinity;
// By task: how often its closing was sounded, and when; that it was sounded as due. Kept, so that a reload is silent.
const told = JSON.parse(sessionStorage.getItem("sounded") ?? "{}");

function waken() {
  const Context = globalThis.AudioContext ?? globalThis.webkitAudioContext;
  if (!Context) return null;
  context ??= new Context();
  if (context.state === "suspended") context.resume()?.catch?.(() => {});
  return context;
}

export function state() {
  if (!setting("sound")) return "off";
  if (!(globalThis.AudioContext ?? globalThis.webkitAudioContext)) return "none";
  return context?.state === "running" ? "on" : "blocked";
}

export function play(name) {
  if (waken()?.state !== "running") return false;
  const from = context.currentTime + 0.03;
  for (const [hertz, at, length] of PATTERNS[name]) note(hertz, from + at, length);
  return true;
}

function note(hertz, at, length) {
  const wave = context.createOscillator();
  const loud = context.createGain();
  wave.type = "triangle";
  wave.frequency.value = hertz;
  loud.gain.setValueAtTime(0, at);
  loud.gain.linearRampToValueAtTime(setting("volume") / 100, at + 0.02);
  loud.gain.setValueAtTime(setting("volume") / 100, at + length - 0.06);
  loud.gain.linearRampToValueAtTime(0, at + length);
  wave.connect(loud).connect(context.destination);
  wave.start(at);
  wave.stop(at + length + 0.02);
}

function sounded(key, times) {
  told[key] = { times, at: Date.now() };
  sessionStorage.setItem("sounded", JSON.stringify(told));
}

// What is on the screen decides; one sound at a time, the gravest.
function listen() {
  if (state() !== "on") return;
  const time = performance.now();
  if (document.querySelector(".sill .alarm")) {
    if (time - alarmAt >= EVERY.alarm) {
      alarmAt = time;
      play("alarm");
    }
    return;
  }
  alarmAt = -Infinity;
  if (closing()) play("closing");
  else if (due()) play("due");
}

function closing() {
  let sound = false;
  const now = new Set();
  for (const row of document.querySelectorAll(".row[data-task]")) {
    if (!row.querySelector(".state-closing")) continue;
    const key = `closing ${row.dataset.task}`;
    now.add(key);
    const before = told[key] ?? { times: 0, at: -Infinity };
    if (before.times >= CLOSING_TIMES || Date.now() - before.at < EVERY.closing) continue;
    sounded(key, before.times + 1);
    sound = true;
  }
  return sound;
}

function due() {
  let sound = false;
  for (const job of document.querySelectorAll(".job.due[data-task]")) {
    const key = `due ${job.dataset.task}`;
    if (told[key]) continue;
    sounded(key, 1);
    sound = true;
  }
  return sound;
}

export function start() {
  for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, () => setting("sound") && waken(), true);
  if (setting("sound")) waken();
  setInterval(listen, 500);
}
