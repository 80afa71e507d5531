// Keeps a page's panels as the kitchen is, and shows when the link is lost.
import * as clock from "./clock.js";
import { keepPanel } from "./kept.js";
import { children } from "./morph.js";
import { seq } from "./seen.js";
import { say } from "./words.js";
import { settle } from "./settle.js";
import { choose } from "./source.js";

const body = document.body;
// The server beats every 15 s: a link that dies without a word is found out.
const SILENT = 40000;
const HANGS = 9000;
let source = null;
let heard = performance.now();
let offlineSince = 0;

export function start() {
  const panels = [...document.querySelectorAll("[data-panel]")].map((e) => e.dataset.panel);
  source = choose(panels.length ? panels : ["clock"], hear);
  document.addEventListener("visibilitychange", () => (document.hidden ? source.close() : open()));
  document.addEventListener("resume", reopen);
  document.addEventListener("jump", reopen);
  addEventListener("pageshow", (event) => event.persisted && (source.close(), open()));
  addEventListener("online", reopen);
  addEventListener("offline", () => linked(false));
  setInterval(watch, 5000);
  if (!document.hidden) open();
}

function open() {
  heard = performance.now();
  source.open();
}

function hear(kind, data) {
  if (kind === "lost") {
    linked(false);
    if (data.closed) whetherStillIn();
    return;
  }
  heard = performance.now();
  if (kind === "clock") {
    seq(data.told.seq);
    clock.set(data.told);
    linked(data.told.linked);
  } else if (kind === "panel") {
    renew(data.panel, data.html);
    keepPanel(data.panel, data.html);
  }
}

// A screen that is let in no more shows its code, instead of what it knew last.
async function whetherStillIn() {
  try {
    const answer = await fetch("/pair/state", { headers: { Accept: "application/json" }, signal: AbortSignal.timeout(5000) });
    if ((await answer.json()).state !== "in") location.assign(`/pair?back=${encodeURIComponent(location.pathname + location.search)}`);
  } catch {
    // Nobody answers: the link is lost, no more.
  }
}

// A link that says nothing is lost; one that is being made for too long hangs on the network that was, and is made anew.
function watch() {
  if (document.hidden) return;
  source.alive();
  if (performance.now() - heard <= (body.classList.contains("off") ? HANGS : SILENT)) return;
  linked(false);
  reopen();
}

// A fresh stream tells clock and panels at once.
function reopen() {
  if (document.hidden) return;
  heard = performance.now();
  source.again();
}

export function renew(panel, html) {
  const place = document.querySelector(`[data-panel="${CSS.escape(panel)}"]`);
  if (!place) return;
  const fresh = document.createElement("template");
  fresh.innerHTML = html;
  place.dispatchEvent(new CustomEvent("renewing", { bubbles: true, detail: { panel, fresh: fresh.content } }));
  children(place, fresh.content);
  settle(place);
  clock.tick(place);
  place.dispatchEvent(new CustomEvent("renewed", { bubbles: true, detail: { panel } }));
}

export function linked(on) {
  if (!on) clock.assumeSlept();
  if (body.classList.contains("off") === !on) return;
  body.classList.toggle("off", !on);
  document.querySelector("[data-link] .is-linked").hidden = !on;
  document.querySelector("[data-link] .is-offline").hidden = on;
  const bar = document.querySelector("[data-offline]");
  bar.hidden = on;
  if (!on) {
    offlineSince = Number(sessionStorage.getItem("offline since")) || clock.now();
    sessionStorage.setItem("offline since", offlineSince);
    bar.querySelector("[data-offline-head]").textContent = say("offline_head", { time: clock.timeOf(offlineSince) });
  } else sessionStorage.removeItem("offline since");
  clock.tick();
  document.dispatchEvent(new CustomEvent("link", { detail: on }));
}
