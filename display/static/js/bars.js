// Window bars from instants: the same geometry as display/drawing.py (a test compares both).
import { length, say } from "./words.js";

const KNEE = 10, SCALE = 72 * 60, MINUTE = 60000;
const SVG = "http://www.w3.org/2000/svg";

export function nearness(minutes) {
  return minutes <= 0 ? 0 : Math.min(100, (100 * Math.log1p(minutes / KNEE)) / Math.log1p(SCALE / KNEE));
}

function read(bar) {
  const at = (name) => (bar.dataset[name] ? Date.parse(bar.dataset[name]) : null);
  return { state: bar.dataset.state, opens: at("opens"), planned: at("planned"), closes: at("closes"), lead: Number(bar.dataset.lead) };
}

export function stateOf(window, now) {
  if (window.state === "missed" || (window.closes !== null && now > window.closes)) return "missed";
  if (window.state === "at risk") return "at risk";
  if (window.opens !== null && now < window.opens) return window.opens - now <= 30 * MINUTE ? "opening" : "shut";
  if (window.closes !== null && window.closes - now <= window.lead * MINUTE) return "closing";
  return "open";
}

export function geometry(window, now) {
  const state = stateOf(window, now);
  const bar = { state, hatchTo: 0, openTo: 0, wall: null, jawsFrom: null, jawStart: 0, peg: null, ring: null };
  if (state === "missed") return bar;
  const onScale = (at) => (at === null || at - now > SCALE * MINUTE ? null : nearness((at - now) / MINUTE));
  if (window.opens !== null) bar.hatchTo = nearness((window.opens - now) / MINUTE);
  bar.wall = onScale(window.closes);
  bar.openTo = bar.wall ?? 100;
  if (bar.wall !== null && window.lead > 0) {
    const begins = (window.closes - now) / MINUTE - window.lead;
    bar.jawsFrom = Math.max(nearness(begins), bar.hatchTo);
    bar.jawStart = 10 * Math.min(1, Math.max(0, -begins / window.lead));
  }
  bar.peg = onScale(window.planned);
  if (state === "at risk" && bar.peg !== null && bar.wall !== null && window.planned > window.closes) {
    bar.ring = Math.min(98.5, Math.max(bar.peg, bar.wall + 3));
    bar.peg = null;
  }
  return bar;
}

function part(parent, name, kind, attributes) {
  const element = document.createElementNS(SVG, name);
  if (kind) element.setAttribute("class", kind);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent.append(element);
  return element;
}

const percent = (x) => `${Math.round(x * 100) / 100}%`;

const twentieths = (x) => (x === null ? "" : Math.round(x * 20));

export function draw(svg, now) {
  const bar = geometry(read(svg), now);
  const drawn = [bar.state, ...[bar.hatchTo, bar.openTo, bar.wall, bar.jawsFrom, bar.jawStart, bar.peg, bar.ring].map(twentieths)].join();
  if (svg.drawn === drawn) return bar.state;
  svg.drawn = drawn;
  svg.replaceChildren();
  if (bar.state === "missed") {
    part(svg, "rect", "solid", { x: 0, y: 4, width: 54, height: 36 });
    part(svg, "path", "cut", { d: "M14 44 40 0" });
    return bar.state;
  }
  const [left, right] = [percent(bar.hatchTo), percent(bar.openTo)];
  if (bar.hatchTo > 0) part(svg, "rect", "hatched", { x: 0, y: 9, width: left, height: 26 });
  part(svg, "rect", "clear", { x: left, y: 9, width: percent(Math.max(0, bar.openTo - bar.hatchTo)), height: 26 });
  for (const y of [9, 35]) part(svg, "line", "rail", { x1: left, x2: right, y1: y, y2: y });
  if (bar.hatchTo > 0 && bar.hatchTo < 100) part(svg, "line", "post", { x1: left, x2: left, y1: 2, y2: 42 });
  if (bar.wall !== null) wall(svg, bar);
  if (bar.ring !== null) {
    part(svg, "line", "beyond", { x1: percent(bar.wall), x2: percent(bar.ring), y1: 22, y2: 22 });
    part(svg, "circle", "ring", { cx: percent(bar.ring), cy: 22, r: 8 });
  } else if (bar.peg !== null) {
    part(svg, "line", "peg", { x1: percent(bar.peg), x2: percent(bar.peg), y1: 7, y2: 35 });
    part(svg, "circle", "peg-head", { cx: percent(bar.peg), cy: 6.5, r: 6.5 });
  }
  return bar.state;
}

function wall(svg, bar) {
  if (bar.jawsFrom !== null && bar.wall > bar.jawsFrom) {
    const jaws = part(svg, "svg", "", { x: percent(bar.jawsFrom), y: 9, width: percent(bar.wall - bar.jawsFrom), height: 26, viewBox: "0 0 10 26", preserveAspectRatio: "none" });
    part(jaws, "path", "solid", { d: `M0 0H10V10L0 ${bar.jawStart}zM0 26H10V16L0 ${26 - bar.jawStart}z` });
  }
  part(part(svg, "svg", "", { x: percent(bar.wall), y: 0, width: 1, height: 44 }), "rect", "solid", { x: -2, y: 2, width: 12, height: 40 });
}

export function headOf(svg, head, now) {
  const window = read(svg);
  const minutes = (at) => (at - now) / MINUTE;
  switch (stateOf(window, now)) {
    case "shut":
    case "opening": {
      const [start, end] = (head.dataset.between ?? "").split("|");
      return end ? say("opens_between", { start, end }) : say("opens_in", { time: length(minutes(window.opens)) });
    }
    case "closing": return say("shuts_in", { time: length(minutes(window.closes)) });
    case "at risk": return say("at_risk", { time: length(Number(head.dataset.late)) });
    case "missed": return say("missed_by", { time: length(window.closes === null ? Number(head.dataset.late) : Math.max(0, -minutes(window.closes))) });
    default: return say("open_now");
  }
}
