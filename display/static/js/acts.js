// Taps: sends a form with an id of its own and the kitchen's time of the tap, and shows what came of it.
import { now } from "./clock.js";
import { show } from "./messages.js";
import { send as deliver } from "./sending.js";
import { marked } from "./marked.js";
import { keeps, keepTap, needsLink, waiting } from "./queue.js";
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
    if (!form.closest(".told")) send(form, event.submitter);
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
  if (!data.get("tapped_at")) data.set("tapped_at", tap.at); // an answer to a question keeps the time of what was asked about
  const action = new URL(form.action).pathname;
  const queued = keeps(action) && !needsLink(data);
  // What is tapped after others that wait goes after them; a link that is known to be lost is not waited for.
  const answer = queued && (waiting() || document.body.classList.contains("off")) ? { outcome: "late" } : await deliver(action, new URLSearchParams(marked(data)));
  form.sending = false;
  button?.classList.remove("sending");
  if (answer.outcome === "late" && queued) {
    ids.delete(form);
    keepTap(form, button, data);
    return;
  }
  if (answer.outcome !== "late") ids.delete(form);
  form.dispatchEvent(new CustomEvent("answered", { bubbles: true, detail: answer }));
  const back = data.get("back");
  if (answer.outcome === "done" && back && back !== location.pathname) {
    sessionStorage.setItem("said", JSON.stringify(answer));
    location.assign(back);
    return;
  }
  if (answer.outcome === "done") for (const field of form.querySelectorAll("input:not([type=hidden])")) if (field.type === "text") field.value = "";
  if (answer.outcome === "late" && needsLink(data)) return show({ outcome: "late", says: say("code_link"), remedy: say("code_link_remedy") });
  show(answer.says ? answer : { ...answer, says: say("not_sent"), remedy: say("not_sent_remedy") });
}
