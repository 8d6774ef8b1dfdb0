// Sends what waits: at load, when the connection is back, when the page is looked at again, and by a button.

import { countFrom, received, sign, waiting } from "./outbox.js";
import { keepFact } from "./store.js";

const MOST = 50;
const MOST_LETTERS = 400_000;
const PATIENCE = 20_000;
const RETRY_FIRST = 4_000;
const RETRY_LAST = 60_000;
const MARK = "X-Shopapp-Entries";
let again = null;
let pause = RETRY_FIRST;

async function ask(address, how = {}) {
  // a redirect is no answer: the sign-in page must not be taken for one
  return fetch(address, { redirect: "manual", cache: "no-store", signal: AbortSignal.timeout(PATIENCE), ...how });
}

function showReach(isReached) {
  document.documentElement.classList.toggle("is-offline", !isReached);
}

// Where the shop stands now: its clock, a fresh token, who works here. None without an answer.
export async function shopState() {
  const before = Date.now();
  let answer;
  try {
    answer = await ask("/bench/state/");
  } catch {
    showReach(false);
    return null;
  }
  const after = Date.now();
  // no tablet of the shop any more; said so in as many words, so that no hotel's sign-in page is believed
  if (answer.status === 401) return { isStranger: true };
  if (!answer.ok) {
    showReach(answer.status < 500);
    return null;
  }
  const state = await answer.json();
  showReach(true);
  await keepFact("offset", Math.round(Date.parse(state.now) - (before + after) / 2));
  await countFrom(state.sequence);
  document.dispatchEvent(new CustomEvent("bench-state", { detail: state }));
  return state;
}

async function post(address, { csrf, body, headers = {} }) {
  const answer = await ask(address, { method: "POST", headers: { ...headers, "X-CSRFToken": csrf }, body });
  if (answer.status !== 200 || answer.headers.get(MARK) !== "1") return { taken: 0, status: answer.status };
  return { taken: await received((await answer.json()).entries), status: 200 };
}

const sentAt = () => new Date().toISOString();
const bare = ({ text, signature }) => ({ text, signature: signature ?? "" });

function sendSome(csrf, some) {
  const body = JSON.stringify({ sent_at: sentAt(), entries: some.map(bare) });
  return post("/bench/entries/", { csrf, body, headers: { "Content-Type": "application/json" } });
}

function sendPhoto(csrf, entry) {
  const form = new FormData();
  form.set("sent_at", sentAt());
  for (const [name, value] of Object.entries(bare(entry))) form.set(name, value);
  form.set("photo", new Blob([entry.photo.bytes], { type: entry.photo.type }), "photo.jpg");
  return post("/bench/photo/", { csrf, body: form });
}

// As many at a time as the shop takes in one request.
function bundles(entries) {
  const found = [];
  let letters = Infinity;
  for (const entry of entries) {
    letters += entry.text.length;
    if (letters > MOST_LETTERS || found.at(-1).length === MOST) {
      found.push([]);
      letters = entry.text.length;
    }
    found.at(-1).push(entry);
  }
  return found;
}

// When an answer fails, one by one, so that one that breaks the shop holds up none of the others.
async function sendWords(csrf, entries) {
  for (const bundle of bundles(entries)) {
    const some = await Promise.all(bundle.map(sign));
    const { taken, status } = await sendSome(csrf, some);
    if (taken === some.length) continue;
    if (status < 400) return false;
    for (const one of some) await sendSome(csrf, [one]);
  }
  return true;
}

async function sendAll() {
  const state = await shopState();
  if (!state || state.isStranger) return;
  const entries = await waiting();
  await sendWords(state.csrf, entries.filter((one) => !one.photo));
  for (const one of entries.filter((entry) => entry.photo)) await sendPhoto(state.csrf, await sign(one));
}

// Two pages of one tablet never send at once. Without that lock the shop still takes each entry once.
function alone(deed) {
  if (!navigator.locks) return deed();
  return navigator.locks.request("bench-outbox", { ifAvailable: true }, (lock) => (lock ? deed() : null));
}

export async function drain() {
  clearTimeout(again);
  if (!(await waiting()).length) return;
  document.dispatchEvent(new Event("bench-sending"));
  try {
    await alone(sendAll);
  } catch {
    showReach(false);
  }
  const left = (await waiting()).length;
  pause = left ? Math.min(pause * 2, RETRY_LAST) : RETRY_FIRST;
  // browsers do not always notice that the network is back
  if (left) again = setTimeout(drain, pause);
  document.dispatchEvent(new CustomEvent("bench-sent", { detail: { left } }));
}

export function keepSending() {
  window.addEventListener("online", drain);
  window.addEventListener("offline", () => showReach(false));
  window.addEventListener("pageshow", ({ persisted }) => persisted && drain());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && drain());
  document.addEventListener("click", ({ target }) => target.closest("[data-send-now]") && drain());
  drain();
}
