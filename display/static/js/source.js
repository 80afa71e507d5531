// Where a page hears of changes: from the worker that all pages of this browser share, else from a stream of its own.
const body = document.body;
const DUMB = 12000;
const { language, role, clock, amounts } = body.dataset;
const reader = new URLSearchParams({ language, role, clock, amounts }).toString();

// Each tells `hear(kind, data)` of beats, clocks, panels and losses.
export function choose(panels, hear) {
  if (!("SharedWorker" in window)) return own(panels, hear);
  let now = null;
  let opened = false;
  let fallen = false;
  const fall = () => {
    if (fallen) return;
    fallen = true;
    now?.close();
    now = own(panels, hear);
    if (opened) now.open();
  };
  try {
    now = shared(panels, hear, fall);
  } catch {
    fall(); // the browser's settings forbid it
  }
  return {
    open: () => ((opened = true), now.open()),
    close: () => ((opened = false), now.close()),
    again: () => now.again(),
    alive: () => now.alive(),
  };
}

// By its name an old script that still runs for other pages is not taken for this one.
function shared(panels, hear, fall) {
  const worker = new SharedWorker("/static/js/shared.js", { name: "streams 1" });
  const say = (does) => worker.port.postMessage({ does, reader, panels });
  let asked = 0;
  let following = false;
  worker.addEventListener("error", fall);
  worker.port.addEventListener("message", ({ data }) => {
    asked = 0;
    if (!following) return;
    if (data.kind === "unknown") say("follow");
    else if (data.kind === "full") fall();
    else if (data.kind !== "here") hear(data.kind, data);
  });
  worker.port.start();
  const ask = (does) => {
    asked ||= performance.now();
    say(does);
  };
  const close = () => {
    following = false;
    asked = 0;
    say("leave");
  };
  addEventListener("pagehide", close);
  return {
    open: () => !following && ((following = true), ask("follow")),
    close,
    again: () => following && ask("again"),
    // A worker that the browser has ended does not answer.
    alive: () => following && (asked && performance.now() - asked > DUMB ? fall() : ask("here")),
  };
}

function own(panels, hear) {
  let source = null;
  const close = () => {
    source?.close();
    source = null;
  };
  const open = () => {
    if (source) return;
    const now = (source = new EventSource(`/streams?panels=${encodeURIComponent(panels.join(","))}&${reader}`));
    source.addEventListener("beat", () => hear("beat"));
    source.addEventListener("clock", ({ data }) => hear("clock", { told: JSON.parse(data) }));
    source.addEventListener("panel", ({ data }) => hear("panel", JSON.parse(data)));
    source.addEventListener("error", () => {
      const closed = now.readyState === EventSource.CLOSED;
      hear("lost", { closed });
      if (!closed) return;
      setTimeout(() => {
        if (source !== now) return;
        close();
        open();
      }, 3000);
    });
  };
  return { open, close, again: () => source && (close(), open()), alive: () => {} };
}
