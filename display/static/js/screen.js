// One screen's own settings: sound, staying awake, the whole glass. What the browser does not give is said plainly.
import { canKeep } from "./kept.js";
import { set, setting } from "./settings.js";
import * as sound from "./sound.js";
import { say } from "./words.js";

let awake = null;
let refused = false;

async function stayAwake() {
  if (document.hidden || (awake && !awake.released)) return;
  try {
    awake = await navigator.wakeLock.request("screen");
    awake.addEventListener("release", tell);
    refused = false;
  } catch {
    refused = true;
  }
  tell();
}

// Browsers fill the glass only on a touch: after sleep, the next one does.
async function fill(on) {
  set("full", on);
  if (on && !document.fullscreenElement) await document.documentElement.requestFullscreen?.().catch(() => {});
  if (!on && document.fullscreenElement) await document.exitFullscreen();
  tell();
}

const put = (name, text) => {
  for (const e of document.querySelectorAll(`[data-${name}]`)) if (e.textContent !== text) e.textContent = text;
};

function tell() {
  const state = sound.state();
  const blocked = state === "blocked";
  put("sound-state", say(`sound_${state}`));
  for (const e of document.querySelectorAll("[data-screen]")) e.classList.toggle("asks", blocked);
  const wake = !("wakeLock" in navigator) ? "wake_none" : awake && !awake.released ? "wake_on" : refused ? "wake_refused" : "wake_none";
  put("wake-state", say(wake));
  put("reload-state", say(canKeep ? "reload_kept" : "reload_not_kept"));
  put("full-label", say(document.fullscreenElement ? "full_leave" : "full_fill"));
  const box = document.querySelector("#screen [name=sound]");
  if (box && document.activeElement !== box) box.checked = setting("sound");
  const volume = document.querySelector("#screen [name=volume]");
  if (volume && document.activeElement !== volume) volume.value = setting("volume");
}

export function start() {
  const dialog = document.getElementById("screen");
  if (!dialog) return;
  for (const tool of document.querySelectorAll("[data-screen], [data-lock]")) tool.hidden = false;
  // The touch that lets sound through does nothing else.
  let silent = false;
  document.addEventListener("pointerdown", () => (silent = sound.state() === "blocked"), true);
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-screen]") && !silent) dialog.showModal();
    const tried = event.target.closest("[data-try]");
    if (tried) sound.play(tried.dataset.try);
    if (event.target.closest("[data-full]")) fill(!document.fullscreenElement);
    setTimeout(tell, 200);
  });
  dialog.addEventListener("input", ({ target }) => {
    if (target.name === "sound") set("sound", target.checked);
    if (target.name === "volume") set("volume", Number(target.value));
    tell();
  });
  document.addEventListener("pointerup", (event) => setting("full") && !document.fullscreenElement && !event.target.closest?.("[data-full]") && fill(true));
  document.addEventListener("fullscreenchange", () => {
    // Whoever leaves by a key means it; a device that fell asleep does not.
    if (!document.fullscreenElement && !document.hidden && document.hasFocus()) set("full", false);
    tell();
  });
  document.addEventListener("visibilitychange", () => !document.hidden && stayAwake());
  document.addEventListener("resume", stayAwake);
  document.addEventListener("jump", stayAwake);
  sound.start();
  stayAwake();
  tell();
  setInterval(tell, 2000);
}
