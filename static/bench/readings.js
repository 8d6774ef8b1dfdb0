// While a reading is typed, its verdict stands below it, with or without a network.

import { judged, words } from "./verdicts.js";

const book = JSON.parse(document.getElementById("spec-book")?.textContent ?? "null");
const tag = (book?.locale ?? "en").replace("_", "-");
const parts = new Intl.NumberFormat(tag).formatToParts(1234567.8);
const sign = (type) => parts.find((one) => one.type === type)?.value ?? "";
const GROUP = sign("group");
const POINT = sign("decimal");

// As the shop reads it: groups fall away, and the shop's decimal sign parts the decimals.
function numberOf(text) {
  const plain = text.trim().replace(/\s/g, "").replaceAll(GROUP.trim() || "'", "").replace("−", "-");
  const value = Number(plain.replace(POINT, "."));
  return plain && Number.isFinite(value) ? value : null;
}

function figuresOf(form, typed) {
  const figures = {};
  const supplied = numberOf(typed.value ?? "");
  for (const name of Object.keys(typed)) {
    const [, which, number] = /^(value|second)_(\d+)$/.exec(name) ?? [];
    const value = number ? numberOf(typed[name]) : null;
    if (value === null) continue;
    figures[number] ??= [supplied, null];
    figures[number][which === "value" ? 0 : 1] = value;
  }
  const isByCylinder = "second_1" in typed;
  if (!isByCylinder && supplied !== null) figures[0] = [supplied, numberOf(typed.second ?? "")];
  return figures;
}

// What is still missing makes no reading yet.
function isWhole(kind, figures, minutes) {
  const pairs = Object.values(figures);
  const needsSecond = ["leak_down", "gearcase_pressure", "gearcase_vacuum"].includes(kind);
  const needsMinutes = ["gearcase_pressure", "gearcase_vacuum", "fluid_loss"].includes(kind);
  if (!pairs.length || (needsMinutes && !(minutes > 0))) return false;
  if (kind === "leak_down" && pairs.some(([supplied, held]) => !(supplied > 0) || held > supplied)) return false;
  return pairs.every(([value, second]) => value !== null && (!needsSecond || second !== null));
}

function readingOf(form) {
  const typed = Object.fromEntries(new FormData(form));
  const figures = figuresOf(form, typed);
  const minutes = numberOf(typed.minutes ?? "");
  if (!isWhole(typed.reading, figures, minutes)) return null;
  const { reading: kind, unit = "", point = "", warmth = "" } = typed;
  return { kind, unit, point, warmth, minutes, figures };
}

function symbolOf(reading) {
  const kind = book.kinds.find((one) => one.kind === reading.kind);
  return kind?.units.find(([code]) => code === reading.unit)?.[1] ?? "";
}

function say(form) {
  const place = form.querySelector("[data-verdict]");
  const reading = readingOf(form);
  place.hidden = !reading;
  delete form.dataset.found;
  if (!reading) return;
  const found = judged(reading, book);
  const told = words(found, book, { verdicts: book.verdicts, unit: symbolOf(reading), locale: book.locale });
  const limit = found.limit ? `${told}. ${found.limit}` : told;
  place.dataset.verdict = found.verdict;
  place.textContent = limit;
  form.dataset.found = told;
}

if (book) {
  const tell = ({ target }) => {
    const form = target.closest?.("form[data-entry=reading]");
    if (form) say(form);
  };
  document.addEventListener("input", tell);
  document.addEventListener("change", tell);
  // a form that was logged is empty again
  document.addEventListener("reset", ({ target }) => setTimeout(() => tell({ target })));
}
