// Tells the server now and then what this screen shows, so that one that stands still or fell silent is found out.
const EVERY = 15000;
let shown = null;
let left = false;

// One name a tab, kept from page to page: it says nothing of the device or of who stands at it.
function name() {
  const known = sessionStorage.getItem("screen");
  if (known) return known;
  const made = [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  sessionStorage.setItem("screen", made);
  return made;
}

// How far the log had come that the server last told of.
export function seq(told) {
  const first = shown === null;
  shown = told;
  if (first) tell("shown");
}

function tell(state) {
  const body = JSON.stringify({ screen: name(), page: location.pathname, seq: shown ?? 0, state });
  fetch("/screens/seen", { method: "POST", body, keepalive: true }).catch(() => {}); // unheard: the server notices
}

export function start() {
  setInterval(() => !document.hidden && !document.body.classList.contains("off") && tell("shown"), EVERY);
  document.addEventListener("visibilitychange", () => !left && tell(document.hidden ? "hidden" : "shown"));
  // A page that is left becomes hidden after it: the last word counts.
  addEventListener("pagehide", () => {
    tell("left");
    left = true;
  });
  addEventListener("pageshow", () => (left = false));
}
