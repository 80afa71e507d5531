// What came of a tap, at the foot of the screen.
import { say } from "./words.js";

const RESTS = 4000;

// A question's answer: a form of its own, which is sent as every other.
export function answer({ label, action, fields, field = "", field_label = "" }) {
  const form = Object.assign(document.createElement("form"), { method: "post", action, className: "answer" });
  form.dataset.act = "";
  for (const [name, value] of Object.entries(fields)) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  if (field) {
    const asked = document.createElement("label");
    asked.append(field_label, Object.assign(document.createElement("input"), { type: "password", name: field, inputMode: "numeric", autocomplete: "off", maxLength: 6, required: true }));
    form.append(asked);
  }
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
  message.querySelector("input[type=password]")?.focus();
  // What leads on or asks stays until it is closed.
  const told = !asks.length && !message.querySelector("a");
  if (told && (outcome === "done" || outcome === "kept")) setTimeout(() => message.remove(), RESTS);
}

export function showKept() {
  const kept = sessionStorage.getItem("said");
  if (!kept) return;
  sessionStorage.removeItem("said");
  show(JSON.parse(kept));
}

export function start() {
  // One that came with the page says no more than that something went well: it leaves what it covers.
  for (const message of document.querySelectorAll(".messages > .message.done"))
    if (!message.querySelector("form, a:not([data-close])")) setTimeout(() => message.remove(), RESTS);
  document.addEventListener("click", (event) => {
    const close = event.target.closest("[data-close]");
    if (!close) return;
    event.preventDefault();
    close.closest(".message").remove();
  });
}
