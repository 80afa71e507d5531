// Keeps a station's page and what it is made of, for a reload while the link is lost. Acts and streams it never touches.
const CACHE = "screen";
const PATIENCE = 4000;
const PAGES = /^\/(station\/[^/]+|task\/[^/]+|stations)$/;
let cutOffAt = -Infinity;

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

addEventListener("message", (event) => {
  const { keep = [], page } = event.data ?? {};
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    const missing = [];
    for (const url of keep) if (!(await cache.match(url))) missing.push(url);
    await Promise.allSettled(missing.map((url) => cache.add(url)));
    if (page && !(await cache.match(page))) await cache.add(new Request(page, { credentials: "same-origin" })).catch(() => {});
  })());
});

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && PAGES.test(url.pathname)) event.respondWith(page(request, url.pathname));
  else if (url.pathname.startsWith("/static/")) event.respondWith(part(request));
});

async function fetched(request) {
  return fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
}

async function page(request, path) {
  const cache = await caches.open(CACHE);
  try {
    const answer = await fetched(request);
    cutOffAt = -Infinity;
    if (answer.ok && !answer.redirected) await cache.put(path, answer.clone());
    return answer;
  } catch {
    cutOffAt = Date.now();
    const kept = await cache.match(path);
    if (!kept) return Response.error();
    const text = (await kept.text()).replace("<body ", "<body data-kept ");
    return new Response(text, { headers: kept.headers });
  }
}

// The newest that can be had; without asking first while the page itself was a kept one.
async function part(request) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(request);
  if (kept && Date.now() - cutOffAt < 15000) return kept;
  try {
    const answer = await fetched(request);
    if (answer.ok) await cache.put(request, answer.clone());
    return answer;
  } catch {
    return kept ?? Response.error();
  }
}
