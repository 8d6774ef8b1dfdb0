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
  const isKept = (path) => paths.includes(path) || (isPhoto(path) && paths.some(isDock));
  for (const { url } of await cache.keys()) {
    const { pathname } = new URL(url);
    if (pathname !== "/bench/" && !isKept(pathname)) await cache.delete(pathname);
  }
}

// The page of a dock call brings along what it is drawn with, and the photos that its customer was shown.
async function fetchParts(answer) {
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of page.querySelectorAll("link[data-bring], .photos img")) {
    const path = part.getAttribute("href") ?? part.getAttribute("src");
    if (!(await caches.match(path, { ignoreVary: true }))) await fetch(path);
  }
}

// One after another, so that a page that somebody opens meanwhile is not held up.
async function fetchAhead(cache, paths) {
  for (const path of paths) {
    const isYoung = (await ageOf(cache, path)) < YOUNG;
    const answer = isYoung ? await cache.match(path) : await fetch(path, { redirect: "manual" });
    if (answer?.status !== 200) return;
    if (isDock(path)) await fetchParts(answer);
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
  await forgetWhere((_path, kept) => !(Date.now() - Number(kept?.headers.get(KEPT_AT)) < LONGEST));
}

async function forgetWhere(isOver) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX)) continue;
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      if (isOver(new URL(request.url).pathname, await cache.match(request))) await cache.delete(request);
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

// -- the dock call of the day ------------------------------------------------------------------------------

const UNTIL = "X-Shopapp-Kept-Until";
const LOOK_EVERY = 20_000;
const isDock = (path) => path.startsWith("/bench/dock/");
const isPhoto = (path) => path.startsWith("/bench/dock-photo/");
const here = document.getElementById("dock-call");

// Wiped when its day is over, and with everything of it once the shop names another one (null: none) or nobody may
// read it here. Whoever looks at it is led away.
async function forgetDock({ but } = {}) {
  const isOthers = (path) => but !== undefined && !path.startsWith(`/bench/dock/${but}/`) && !path.startsWith(`/bench/dock-photo/${but}-`);
  const isOver = (kept) => !(Date.now() < Number(kept?.headers.get(UNTIL)));
  if (globalThis.caches) {
    await forgetWhere((path, kept) => (isDock(path) || isPhoto(path)) && (isOver(kept) || isOthers(path)));
  }
  const isGone = here && (Date.now() >= Date.parse(here.dataset.until) || isOthers(location.pathname));
  for (const link of document.querySelectorAll("[data-dock-until]")) {
    link.hidden = Date.now() >= Date.parse(link.dataset.dockUntil) || isOthers(link.querySelector("a").pathname);
  }
  if (isGone) location.replace("/bench/");
}

export function keepDock() {
  forgetDock();
  setInterval(forgetDock, LOOK_EVERY);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && forgetDock());
  document.addEventListener("bench-state", ({ detail }) => forgetDock({ but: detail.dock_call }));
  // handed on to somebody else, who has no such page
  document.addEventListener("bench-who", ({ detail }) => {
    if (here && detail.person !== PAGE.person) location.replace("/bench/");
  });
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
