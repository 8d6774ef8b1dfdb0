// Who is on the clock since when: from what was logged here, and from what the shop knew when the page was made.

import { latest, store } from "./store.js";
import { PAGE, whoWorks } from "./who.js";

const TICK = 20_000;
const box = () => document.getElementById("bench-clock");

// what the shop knew, for the person of the page alone
function toldByShop() {
  const { mark, since, job, words } = box().dataset;
  return mark ? [{ mark, at: Date.parse(since), job: Number(job) || null, words, person: PAGE.person }] : [];
}

function spanOf(row) {
  return { mark: JSON.parse(row.text).content.mark, at: row.at, job: row.job, words: row.words, person: row.person };
}

// The last beginning counts, as in the shop; it is over when it was ended here.
async function running() {
  const who = await whoWorks();
  const rows = (await (await store()).getAll("entries")).filter((row) => row.person === who.person && !row.isUndone);
  const begun = rows.filter((row) => row.kind === "clock_on" && row.name === who.name).map(spanOf);
  const told = toldByShop().filter((span) => span.person === who.person);
  const last = [...told, ...begun].sort((one, other) => one.at - other.at).at(-1);
  const ended = rows.filter((row) => row.kind === "clock_off").map((row) => JSON.parse(row.text).content.mark);
  return last && !ended.includes(last.mark) ? last : null;
}

const twoDigits = (number) => String(number).padStart(2, "0");

function elapsed(at) {
  const minutes = Math.max(0, Math.floor((Date.now() - at) / 60_000));
  return `${Math.floor(minutes / 60)}:${twoDigits(minutes % 60)}`;
}

function showSpan(span) {
  for (const one of document.querySelectorAll("[data-clock]")) {
    one.hidden = (one.dataset.clock === "on") !== Boolean(span);
  }
  if (!span) return;
  const since = new Intl.DateTimeFormat(document.documentElement.lang, { timeStyle: "short" }).format(span.at);
  for (const place of document.querySelectorAll("[data-clock-words]")) place.textContent = span.words;
  for (const place of document.querySelectorAll("[data-clock-since]")) place.textContent = since;
  for (const place of document.querySelectorAll("[data-clock-elapsed]")) place.textContent = elapsed(span.at);
  for (const form of document.querySelectorAll("form[data-entry=clock_off]")) {
    form.elements.mark.value = span.mark;
    form.dataset.job = span.job ?? "";
  }
}

const showClock = latest(running, showSpan);

export function keepClock() {
  if (!box()) return;
  document.addEventListener("bench-changed", showClock);
  setInterval(showClock, TICK);
  showClock();
}
