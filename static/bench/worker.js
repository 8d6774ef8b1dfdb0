// The bench without a network. /service-worker.js says which files there are, and loads this.
// Kept are those files, and the pages that the shop allows to be kept for the person they were made for. Nothing else.

/* global BENCH */
const FILES = `bench-files-${BENCH.version}`;
const PAGES = "bench-pages-";
const PAGE = /^\/bench\/(?:job\/[0-9]+\/|dock\/[0-9]+\/|dock-photo\/[0-9]+-[0-9a-f]{64}\/)?$/;
const KEPT_FOR = "X-Shopapp-Kept-For";
const KEPT_AT = "X-Kept-At";
const UNTIL = "X-Shopapp-Kept-Until";
const LONGEST = 12 * 60 * 60 * 1000;
// a network that is slower than this is as good as none, if there is a page to show instead
const SLOW = 4_000;
// a name that changes with the content: what the browser has under it is what the shop has
const FIXED = /\.[0-9a-f]{12}\.[a-z0-9]+$/;
const paths = new Set(BENCH.files);

self.addEventListener("install", (event) => {
  const files = BENCH.files.map((path) => new Request(path, { cache: FIXED.test(path) ? "default" : "no-cache" }));
  event.waitUntil(caches.open(FILES).then((cache) => cache.addAll(files)).then(() => self.skipWaiting()));
});

// The files before these stay for the pages that were made with them; those are gone within half a day.
async function clear() {
  const names = (await caches.keys()).filter((name) => name.startsWith("bench-files-") && name !== FILES);
  await Promise.all(names.slice(0, -1).map((name) => caches.delete(name)));
  await self.clients.claim();
}

self.addEventListener("activate", (event) => event.waitUntil(clear()));

// -- pages ---------------------------------------------------------------------------------------------

async function whoWorks() {
  if (!(await caches.has("bench-who"))) return null;
  const told = await (await caches.open("bench-who")).match("/bench/");
  return told ? told.text() : null;
}

async function keptPage(path) {
  const person = await whoWorks();
  if (!person || !(await caches.has(PAGES + person))) return null;
  const cache = await caches.open(PAGES + person);
  const kept = await cache.match(path);
  if (!kept) return null;
  const isOfToday = Date.now() < Number(kept.headers.get(UNTIL) ?? Infinity);
  if (isOfToday && Date.now() - Number(kept.headers.get(KEPT_AT)) < LONGEST) return kept;
  await cache.delete(path);
  return null;
}

async function keep(path, answer) {
  const person = answer.headers.get(KEPT_FOR);
  if (answer.status !== 200 || !/^[0-9]+$/.test(person ?? "")) return;
  const headers = new Headers(answer.headers);
  headers.set(KEPT_AT, String(Date.now()));
  // what is kept is unpacked
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
  const cache = await caches.open(PAGES + person);
  await cache.put(path, new Response(await answer.blob(), { status: 200, headers }));
}

// What is there no more for whoever works here is not kept for them either; a dock call takes its photos along.
async function forget(path) {
  const person = await whoWorks();
  if (!person || !(await caches.has(PAGES + person))) return;
  const cache = await caches.open(PAGES + person);
  const photos = path.startsWith("/bench/dock/") ? path.slice(0, -1).replace("dock", "dock-photo") : null;
  for (const request of await cache.keys()) {
    const { pathname } = new URL(request.url);
    if (pathname === path || (photos && pathname.startsWith(`${photos}-`))) await cache.delete(request);
  }
}

// What the shop says itself counts, also a no or a way to the PIN; a breakdown does not.
async function fresh(request, path, event) {
  const answer = await fetch(request);
  if (answer.status >= 500) throw new Error("the shop's computer has a breakdown");
  if (answer.status === 200) event.waitUntil(keep(path, answer.clone()));
  if (answer.status === 404) event.waitUntil(forget(path));
  return answer;
}

const slow = () => new Promise((resolve) => setTimeout(resolve, SLOW, null));
const nothingKept = () =>
  new Response(BENCH.nothingKept, { status: 503, headers: { ...BENCH.headers, "Content-Type": "text/html; charset=utf-8" } });

async function page(request, path, event) {
  const asked = fresh(request, path, event);
  // when the kept page was shown first, nobody waits for this one any more
  asked.catch(() => null);
  try {
    const first = await Promise.race([asked, slow()]);
    if (first) return first;
    return (await keptPage(path)) ?? (await asked);
  } catch {
    return (await keptPage(path)) ?? nothingKept();
  }
}

// What only some tablets need is kept once it was asked for.
async function file(request, pathname) {
  const kept = await caches.match(request, { ignoreVary: true });
  if (kept) return kept;
  const answer = await fetch(request);
  if (BENCH.later.includes(pathname) && answer.status === 200) {
    const cache = await caches.open(FILES);
    await cache.put(pathname, answer.clone());
  }
  return answer;
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (PAGE.test(pathname)) event.respondWith(page(request, pathname, event));
  else if (paths.has(pathname) || BENCH.later.includes(pathname)) event.respondWith(file(request, pathname));
});
