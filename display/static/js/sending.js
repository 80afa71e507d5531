// One form on its way to the server. Outcome "late": whether it arrived nobody knows; the same id may be sent again.
import { say } from "./words.js";

export async function send(action, fields) {
  document.dispatchEvent(new CustomEvent("delivering"));
  try {
    const response = await fetch(action, { method: "POST", body: fields, headers: { Accept: "application/json" }, signal: AbortSignal.timeout(15000) });
    return await response.json();
  } catch (fault) {
    if (fault.name === "TimeoutError") return { outcome: "late", says: say("late_answer"), remedy: say("late_remedy") };
    return { outcome: "late", garbled: fault instanceof SyntaxError };
  }
}
