// A worker that all pages of this browser share: it holds one event stream for those that read alike, and hands each page
// what it shows. A browser keeps six connections to a host; with a stream for each page the seventh page would hang.
const MOST = 100; // panels of one stream, as the server allows
const GONE = 30000; // pages say every five seconds that they are there
const HANGS = 5000;
const AGAIN = 3000;
const streams = new Map();
const pages = new Map();

addEventListener("connect", ({ ports: [port] }) => {
  port.addEventListener("message", ({ data }) => take(port, data));
  port.start();
});

function take(port, { does, reader, panels }) {
  const page = pages.get(port);
  if (page) page.heard = performance.now();
  if (does === "follow") follow(port, reader, panels);
  else if (does === "leave") leave(port);
  else if (does === "again" && page) again(page.stream);
  // Whoever was taken for gone, as after a long sleep, is asked to come again.
  port.postMessage({ kind: pages.has(port) || does === "leave" ? "here" : "unknown" });
}

function follow(port, reader, panels) {
  leave(port);
  const stream = streams.get(reader) ?? { reader, pages: new Set(), panels: new Set(), last: new Map(), source: null };
  const all = new Set([...wanted(stream), ...panels]);
  if (all.size > MOST || typeof EventSource === "undefined") return port.postMessage({ kind: "full" });
  streams.set(reader, stream);
  const page = { port, stream, panels, shown: new Map(), heard: performance.now() };
  pages.set(port, page);
  stream.pages.add(page);
  if (!stream.live || panels.some((panel) => !stream.panels.has(panel))) open(stream, all);
  else present(page);
}

function wanted(stream) {
  return new Set([...stream.pages].flatMap((page) => page.panels));
}

// The stream goes on with panels that nobody shows any more: opening it anew for each page that is left would cost more.
function leave(port) {
  const page = pages.get(port);
  if (!page) return;
  pages.delete(port);
  page.stream.pages.delete(page);
  if (page.stream.pages.size) return;
  page.stream.source?.close();
  streams.delete(page.stream.reader);
}

// All that is known already, and the clock as it is by now.
function present({ port, stream, panels, shown }) {
  const { told, heard } = stream.clock;
  port.postMessage({ kind: "clock", told: { ...told, now: told.now + (performance.now() - heard) * told.rate } });
  for (const panel of panels) if (stream.last.has(panel)) hand(port, shown, panel, stream.last.get(panel));
}

function hand(port, shown, panel, html) {
  if (shown.get(panel) === html) return;
  shown.set(panel, html);
  port.postMessage({ kind: "panel", panel, html });
}

function open(stream, panels) {
  stream.source?.close();
  Object.assign(stream, { panels, last: new Map(), live: false, opened: performance.now() });
  const source = (stream.source = new EventSource(`/streams?panels=${encodeURIComponent([...panels].join(","))}&${stream.reader}`));
  source.addEventListener("beat", () => all(stream, { kind: "beat" }));
  source.addEventListener("clock", ({ data }) => {
    const told = JSON.parse(data);
    Object.assign(stream, { live: true, clock: { told, heard: performance.now() } });
    all(stream, { kind: "clock", told });
  });
  source.addEventListener("panel", ({ data }) => {
    const { panel, html } = JSON.parse(data);
    stream.last.set(panel, html);
    for (const page of stream.pages) if (page.panels.includes(panel)) hand(page.port, page.shown, panel, html);
  });
  source.addEventListener("error", () => {
    stream.live = false;
    const closed = source.readyState === EventSource.CLOSED;
    all(stream, { kind: "lost", closed });
    if (closed) setTimeout(() => stream.source === source && stream.pages.size && open(stream, wanted(stream)), AGAIN);
  });
}

function all(stream, message) {
  for (const { port } of stream.pages) port.postMessage(message);
}

// Many pages ask at once, after a sleep: one opening serves them all.
function again(stream) {
  if (performance.now() - stream.opened > HANGS) open(stream, wanted(stream));
}

setInterval(() => {
  for (const { port, heard } of pages.values()) if (performance.now() - heard > GONE) leave(port);
}, 10000);
