// What is weighed and ticked, by task: kept in this browser, and shared between the screens through the server. Of two
// ticks of one thing the later one counts.
import { now } from "./clock.js";
import { marked } from "./marked.js";

const KEY = "ticks";
const KEPT_MS = 36 * 3600000;
const ticks = JSON.parse(localStorage.getItem(KEY) ?? "{}");
let sending = null;

const keyOf = (box) => `${box.dataset.tick}\n${box.dataset.name}`;

function write() {
  for (const [key, tick] of Object.entries(ticks)) if (tick.at < now() - KEPT_MS) delete ticks[key];
  localStorage.setItem(KEY, JSON.stringify(ticks));
}

// Whether it is ticked, by whoever was later: this screen or what the server heard from another.
export function has(box) {
  const mine = ticks[keyOf(box)];
  const at = Number(box.dataset.at ?? 0);
  if (at && (!mine || at > mine.at || (at === mine.at && mine.sent))) {
    ticks[keyOf(box)] = { on: box.dataset.on === "1", at, sent: true };
    write();
    return box.dataset.on === "1";
  }
  if (mine && at < mine.at && mine.sent !== "now") later(); // the server has forgotten, or never heard
  return mine?.on ?? false;
}

export function set(box, on) {
  ticks[keyOf(box)] = { on, at: Math.round(now()), sent: false };
  write();
  later();
}

function later() {
  sending ??= setTimeout(push, 300);
}

async function push() {
  sending = null;
  for (const box of document.querySelectorAll("[data-tick]")) {
    const mine = ticks[keyOf(box)];
    if (!mine || Number(box.dataset.at ?? 0) > mine.at || (mine.sent && Number(box.dataset.at ?? 0) === mine.at)) continue;
    mine.sent = "now";
    try {
      const body = marked(new URLSearchParams({ task: box.dataset.tick, what: box.dataset.name, on: mine.on ? "1" : "0", at: mine.at }));
      mine.sent = (await fetch("/ticks", { method: "POST", body, signal: AbortSignal.timeout(8000) })).ok;
    } catch {
      mine.sent = false;
      return; // once linked again
    }
  }
}

document.addEventListener("link", (event) => event.detail && later());
