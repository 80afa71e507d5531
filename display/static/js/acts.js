// Taps: sends a form with an id of its own and the kitchen's time of the tap, and shows what came of it.
import { now } from "./clock.js";
import { say } from "./words.js";

const ids = new WeakMap();

function makeId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((x) => x.toString(16).padStart(2, "0")).join("");
}

export function start() {
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-act]");
    if (!form) return;
    event.preventDefault();
    send(form, event.submitter);
  });
  document.addEventListener("click", (event) => {
    const close = event.target.closest("[data-close]");
    if (!close) return;
    event.preventDefault();
    close.closest(".message").remove();
  });
}

async function send(form, button) {
  if (form.sending) return;
  form.sending = true;
  button?.classList.add("sending");
  // The same tap keeps its id until an answer came: sending it again is harmless.
  if (!ids.has(form)) ids.set(form, { id: makeId(), at: new Date(now()).toISOString() });
  const tap = ids.get(form);
  const data = new FormData(form, button);
  data.set("command_id", tap.id);
  data.set("tapped_at", tap.at);
  let answer;
  try {
    const response = await fetch(form.action, {
      method: "POST", body: new URLSearchParams(data), headers: { Accept: "application/json" }, signal: AbortSignal.timeout(15000),
    });
    answer = await response.json();
  } catch (fault) {
    answer = fault.name === "TimeoutError"
      ? { outcome: "late", says: say("late_answer"), remedy: say("late_remedy") }
      : { outcome: "late", says: say("not_sent"), remedy: say("not_sent_remedy") };
  } finally {
    form.sending = false;
    button?.classList.remove("sending");
  }
  if (answer.outcome !== "late") ids.delete(form);
  const back = data.get("back");
  if (answer.outcome === "done" && back && back !== location.pathname) {
    sessionStorage.setItem("said", JSON.stringify(answer));
    location.assign(back);
    return;
  }
  if (answer.outcome === "done") for (const field of form.querySelectorAll("input:not([type=hidden])")) if (field.type === "text") field.value = "";
  show(answer);
}

// A question's answer: a form of its own, which is sent as every other.
function answer({ label, action, fields }) {
  const form = Object.assign(document.createElement("form"), { method: "post", action, className: "answer" });
  form.dataset.act = "";
  for (const [name, value] of Object.entries(fields)) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  form.append(Object.assign(document.createElement("button"), { textContent: label }));
  return form;
}

export function show({ outcome, says, remedy = "", more = "", asks = [] }) {
  const place = document.querySelector("[data-messages]");
  const message = document.createElement("div");
  message.className = `message ${outcome}`;
  const text = document.createElement("p");
  const head = document.createElement("b");
  head.textContent = says;
  text.append(head, ` ${remedy}`);
  message.append(text, ...asks.map(answer));
  if (more && more !== location.pathname) message.append(Object.assign(document.createElement("a"), { className: "button", href: more, textContent: say("details") }));
  const close = Object.assign(document.createElement("button"), { type: "button", textContent: say("close") });
  close.dataset.close = "";
  message.append(close);
  place.replaceChildren(message);
  if (outcome === "done") setTimeout(() => message.remove(), 4000);
}

export function showKept() {
  const kept = sessionStorage.getItem("said");
  if (!kept) return;
  sessionStorage.removeItem("said");
  show(JSON.parse(kept));
}
