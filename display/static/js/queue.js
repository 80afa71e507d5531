// Taps that could not be sent: kept in this browser with their id and the kitchen's time of the tap, shown with their
// times, sent in order once linked. The server knows their ids: whatever was sent twice counts once.
import { timeOf } from "./clock.js";
import { marked } from "./marked.js";
import { show } from "./messages.js";
import { send } from "./sending.js";
import { say } from "./words.js";

const KEY = "waiting acts";
const KEPT = /^\/acts\/(start|finish|tray|extend|problem|skip|temperature|weight|seen|undo)$/;
const AGAIN = 5000;
// A server that cannot even answer is asked so often; then the tap is shown as not taken.
const MOST_TRIES = 5;
let busy = false;

export const keeps = (action) => KEPT.test(action);
// A sign-off with a personal code is not kept: a code lies in no browser, and only the server knows whether it is right.
export const needsLink = (data) => data.has("personal_code") || (document.body.dataset.codes === "1" && Boolean(data.get("override_reason")));
export const all = () => JSON.parse(localStorage.getItem(KEY) ?? "[]");
export const waiting = () => all().filter((tap) => !tap.refused).length;

function write(taps) {
  localStorage.setItem(KEY, JSON.stringify(taps));
  document.dispatchEvent(new CustomEvent("queue"));
}

function change(id, how) {
  write(all().flatMap((tap) => (tap.id === id ? how(tap) : [tap])));
}

// "Finish tray, Bake cones": as the button says it, and of which step.
function named(form, button) {
  const title = form.dataset.title ?? form.closest("[data-title]")?.dataset.title ?? document.querySelector(".whole-title")?.textContent ?? "";
  return [form.dataset.says ?? (button ?? form.querySelector("button"))?.textContent.trim(), title.trim()].filter(Boolean).join(", ");
}

export function keepTap(form, button, data) {
  if (document.body.dataset.person) data.set("tapped_by", document.body.dataset.person);
  const fields = [...data].filter(([name, value]) => name !== "back" && name !== "form_token" && typeof value === "string");
  const tap = { id: data.get("command_id"), at: data.get("tapped_at"), action: new URL(form.action).pathname, fields, says: named(form, button), tries: 0 };
  try {
    write([...all(), tap]);
  } catch {
    show({ outcome: "late", says: say("not_sent"), remedy: say("not_kept") });
    return;
  }
  show({ outcome: "kept", says: say("tap_kept", { time: timeOf(Date.parse(tap.at)), what: tap.says }), remedy: say("tap_kept_says") });
  form.dispatchEvent(new CustomEvent("answered", { bubbles: true, detail: { outcome: "kept" } }));
  setTimeout(flush, AGAIN);
}

export function drop(id) {
  change(id, () => []);
}

// In order, each once: the next one waits for an answer to the one before. One tab of a browser sends at a time.
export async function flush() {
  if (busy || document.hidden || !waiting()) return;
  busy = true;
  try {
    await (navigator.locks ? navigator.locks.request("waiting acts", sendAll) : sendAll());
  } finally {
    busy = false;
  }
}

async function sendAll() {
  let sent = 0;
  let told = null;
  for (let tap = next(); tap; tap = next()) {
    const answer = await send(tap.action, marked(new URLSearchParams(tap.fields)));
    if (answer.outcome === "late") {
      if (answer.garbled && tap.tries + 1 >= MOST_TRIES) change(tap.id, (one) => [{ ...one, refused: { says: say("tap_unanswered"), remedy: "" } }]);
      else {
        if (answer.garbled) change(tap.id, (one) => [{ ...one, tries: one.tries + 1 }]);
        setTimeout(flush, AGAIN);
        break;
      }
    } else if (answer.outcome === "done") {
      change(tap.id, () => []);
      sent++;
      if (answer.remedy) told = answer; // somebody else was quicker
    } else change(tap.id, (one) => [{ ...one, refused: answer }]);
  }
  document.dispatchEvent(new CustomEvent("answered"));
  const refused = all().filter((tap) => tap.refused).length;
  if (refused) show({ outcome: "refused", says: say("taps_refused", { count: refused }), remedy: say("taps_refused_says") });
  else if (told) show(told);
  else if (sent) show({ outcome: "done", says: say("taps_sent", { count: sent }) });
}

const next = () => all().find((tap) => !tap.refused);

export function start() {
  document.addEventListener("link", (event) => event.detail && flush());
  document.addEventListener("visibilitychange", flush);
  addEventListener("storage", (event) => event.key === KEY && document.dispatchEvent(new CustomEvent("queue")));
  setInterval(flush, 30000);
  flush();
}
