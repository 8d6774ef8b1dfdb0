// The list of what was logged here, how much the shop has not got, and the word after each entry with its undo.

import { forget, listed, stateOf, undo, waiting } from "./outbox.js";
import { drain } from "./sender.js";
import { HOUR, latest } from "./store.js";
import { whoWorks } from "./who.js";

const TOO_LONG = 24 * HOUR;
const TOLD_FOR = 15_000;
// what the shop does not take back from a tablet: evidence, a verdict, and the clock, which is switched instead
const STAYS = new Set(["photo", "test", "clock_on", "clock_off", "signature"]);
const job = Number(document.body.dataset.job) || null;
const MADE_AT = Date.parse(document.documentElement.dataset.madeAt);
let telling = null;

const byId = (id) => document.getElementById(id);
const clock = (moment, style) => new Intl.DateTimeFormat(document.documentElement.lang, style).format(moment);

function whenWords(moment) {
  const isToday = new Date(moment).toDateString() === new Date().toDateString();
  return clock(moment, isToday ? { timeStyle: "short" } : { dateStyle: "medium", timeStyle: "short" });
}

function tellState(place, row) {
  const state = stateOf(row);
  for (const word of place.querySelectorAll("[data-when]")) word.hidden = word.dataset.when !== state;
  place.querySelector("[data-reason]").textContent = state === "review" ? row.reason : "";
  return state;
}

function itemOf(row) {
  const item = byId("bench-entry").content.firstElementChild.cloneNode(true);
  const state = tellState(item, row);
  item.dataset.entryId = row.id;
  item.dataset.state = row.isUndone ? "undone" : state;
  item.querySelector("[data-said]").textContent = row.words;
  item.querySelector("[data-by]").textContent = `${row.name}, ${whenWords(row.at)}`;
  item.querySelector("[data-taken-back]").hidden = !row.isUndone;
  const button = item.querySelector("[data-undo]");
  button.hidden = Boolean(row.isUndone) || STAYS.has(row.kind);
  button.dataset.undo = row.id;
  return item;
}

function showList(rows) {
  const list = byId("bench-entries");
  list.replaceChildren(...rows.map(itemOf));
  byId("bench-no-entries").hidden = rows.length > 0;
  markUsed(rows);
  const notice = byId("bench-logged");
  const logged = rows.find((row) => row.id === notice.querySelector("[data-undo]").dataset.undo);
  if (logged) tellState(notice, logged);
}

// What was used in one tap is not offered again: a kept page does not know of it yet.
function markUsed(rows) {
  for (const form of document.querySelectorAll("form[data-entry=planned]")) {
    const line = form.elements.line.value;
    const isUsed = rows.some((row) => row.kind === "planned" && !row.isUndone && isOf(row, line));
    form.querySelector("button").disabled = isUsed;
  }
}

const isOf = (row, line) => row.at > MADE_AT && JSON.parse(row.text).content.line === line;

function showCount(rows) {
  const place = byId("bench-unsent");
  place.querySelector("[data-count]").textContent = String(rows.length);
  place.dataset.unsent = rows.length ? "some" : "none";
  const oldest = Math.min(...rows.map((row) => row.at));
  byId("bench-too-long").hidden = !(rows.length && Date.now() - oldest > TOO_LONG);
}

const lookAtList = latest(() => listed({ job }), (rows) => byId("bench-entries") && showList(rows));
const lookAtCount = latest(waiting, showCount);

export async function show() {
  await Promise.all([lookAtList(), lookAtCount()]);
}

// -- after an entry ------------------------------------------------------------------------------------

export function showLogged(entry) {
  const notice = byId("bench-logged");
  notice.querySelector("[data-said]").textContent = entry.words;
  const button = notice.querySelector("[data-undo]");
  button.dataset.undo = entry.id;
  button.hidden = STAYS.has(entry.kind);
  tellState(notice, entry);
  notice.hidden = false;
  clearTimeout(telling);
  telling = setTimeout(() => (notice.hidden = true), TOLD_FOR);
}

export function showTrouble(error) {
  const notice = byId("bench-trouble");
  notice.querySelector("[data-why]").textContent = error?.message ?? "";
  notice.hidden = false;
}

async function takeBack(id) {
  const notice = byId("bench-logged");
  if (notice.querySelector("[data-undo]").dataset.undo === id) notice.hidden = true;
  try {
    await undo(id, { who: await whoWorks(), words: "" });
  } catch (error) {
    showTrouble(error);
  }
  drain();
}

export function keepList() {
  document.addEventListener("bench-changed", show);
  document.addEventListener("click", ({ target }) => {
    const id = target.closest("[data-undo]")?.dataset.undo;
    if (id) takeBack(id);
  });
  const place = byId("bench-unsent");
  document.addEventListener("bench-sending", () => place.setAttribute("aria-busy", "true"));
  document.addEventListener("bench-sent", () => place.removeAttribute("aria-busy"));
  forget();
  show();
}
