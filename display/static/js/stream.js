// One event stream a page: names its panels, renews them as they change, and shows when the link is lost.
import * as clock from "./clock.js";
import { children } from "./morph.js";
import { say } from "./words.js";
import { settle } from "./settle.js";

const body = document.body;
let source = null;

export function start() {
  const panels = [...document.querySelectorAll("[data-panel]")].map((e) => e.dataset.panel);
  if (!panels.length) panels.push("clock");
  document.addEventListener("visibilitychange", () => (document.hidden ? stop() : open(panels)));
  if (!document.hidden) open(panels);
}

function open(panels) {
  if (source) return;
  const { language, role, clock: format, amounts } = body.dataset;
  source = new EventSource(`/streams?${new URLSearchParams({ panels: panels.join(","), language, role, clock: format, amounts })}`);
  source.addEventListener("clock", (event) => {
    const told = JSON.parse(event.data);
    clock.set(told);
    linked(told.linked);
  });
  source.addEventListener("panel", (event) => renew(JSON.parse(event.data)));
  source.addEventListener("error", () => {
    linked(false);
    if (source?.readyState === EventSource.CLOSED) {
      stop();
      setTimeout(() => !document.hidden && open(panels), 3000);
    }
  });
}

function stop() {
  source?.close();
  source = null;
}

function renew({ panel, html }) {
  const place = document.querySelector(`[data-panel="${CSS.escape(panel)}"]`);
  if (!place) return;
  const fresh = document.createElement("template");
  fresh.innerHTML = html;
  children(place, fresh.content);
  settle(place);
  clock.tick(place);
}

function linked(on) {
  if (body.classList.contains("off") === !on) return;
  body.classList.toggle("off", !on);
  document.querySelector("[data-link] .is-linked").hidden = !on;
  document.querySelector("[data-link] .is-offline").hidden = on;
  const bar = document.querySelector("[data-offline]");
  bar.hidden = on;
  if (!on) bar.querySelector("[data-offline-head]").textContent = say("offline_head", { time: clock.timeOf(clock.now()) });
}
