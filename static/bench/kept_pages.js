// The service worker keeps the pages of whoever works here; this fetches them ahead and throws away what is over.

import { LONGEST } from "./store.js";
import { forgetOldKeys } from "./signing.js";
import { PAGE } from "./who.js";

const PREFIX = "bench-pages-";
const KEPT_AT = "X-Kept-At";
// a page younger than this is not fetched again
const YOUNG = 10 * 60 * 1000;

const pagesOf = (person) => `${PREFIX}${person}`;

async function ageOf(cache, path) {
  const kept = await cache.match(path);
  return kept ? Date.now() - Number(kept.headers.get(KEPT_AT)) : Infinity;
}

// What is on the list is kept; what is on it no more was closed, or is somebody else's now.
async function throwAway(cache, paths) {
  for (const { url } of await cache.keys()) {
    const { pathname } = new URL(url);
    if (pathname !== "/bench/" && !paths.includes(pathname)) await cache.delete(pathname);
  }
}

// One after another, so that a page that somebody opens meanwhile is not held up.
async function fetchAhead(cache, paths) {
  for (const path of paths) {
    if ((await ageOf(cache, path)) < YOUNG) continue;
    const answer = await fetch(path, { redirect: "manual" });
    if (answer.status !== 200) return;
  }
}

async function keepAll() {
  if (document.body.dataset.page !== "index") {
    await fetchAhead(await caches.open(pagesOf(PAGE.person)), [location.pathname]);
    return;
  }
  const cache = await caches.open(pagesOf(PAGE.person));
  const paths = [...document.querySelectorAll("[data-keep-page]")].map((link) => link.pathname);
  await throwAway(cache, paths);
  await fetchAhead(cache, ["/bench/", ...paths]);
}

async function forgetOldPages() {
  for (const person of await forgetOldKeys()) await caches.delete(pagesOf(person));
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX)) continue;
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const kept = await cache.match(request);
      if (!(Date.now() - Number(kept?.headers.get(KEPT_AT)) < LONGEST)) await cache.delete(request);
    }
    if (!(await cache.keys()).length) await caches.delete(name);
  }
}

export async function forgetPages({ person = null } = {}) {
  if (!globalThis.caches) return;
  for (const name of await caches.keys()) {
    if (person === null ? name.startsWith(PREFIX) : name === pagesOf(person)) await caches.delete(name);
  }
}

// isOpen: the shop says that the person of this page works here now, so that the pages are theirs to keep.
export async function keepPages({ isOpen }) {
  if (!("serviceWorker" in navigator)) return;
  // without a network the worker that is there goes on
  await navigator.serviceWorker.register("/service-worker.js").catch(() => null);
  await forgetOldPages();
  if (!isOpen) return;
  await navigator.serviceWorker.ready;
  if (!navigator.serviceWorker.controller) {
    await new Promise((resolve) => {
      navigator.serviceWorker.addEventListener("controllerchange", resolve, { once: true });
      setTimeout(resolve, 5_000);
    });
  }
  await keepAll();
}
