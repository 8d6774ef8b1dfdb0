// Half-typed values stay through the lock, a reload and a dead battery, for whoever typed them.

import { LONGEST, store } from "./store.js";
import { whoWorks } from "./who.js";

const PAUSE = 500;
const timers = new Map();

export const entryForms = () => [...document.querySelectorAll("form[data-entry]:not([data-no-draft])")];
const isKept = (field) => field.name && !["hidden", "file", "submit", "button"].includes(field.type);
const isPicked = (field) => !["radio", "checkbox"].includes(field.type) || field.checked;
const fieldsOf = (form) => [...form.elements].filter(isKept);

async function nameOf(form) {
  const who = await whoWorks();
  const same = entryForms().filter((one) => one.dataset.entry === form.dataset.entry);
  return [who.person ?? who.name, location.pathname, form.dataset.entry, same.indexOf(form)].join(" ");
}

const valuesOf = (form) => fieldsOf(form).filter(isPicked).map((field) => [field.name, field.value]);

function isTyped(form) {
  return fieldsOf(form).some((field) => {
    if (field.type === "radio" || field.type === "checkbox") return field.checked !== field.defaultChecked;
    if (field.type === "select-one") return !field.selectedOptions[0]?.defaultSelected && field.selectedIndex > 0;
    return field.value !== field.defaultValue && field.value.trim();
  });
}

async function keep(form) {
  timers.delete(form);
  const db = await store();
  const name = await nameOf(form);
  if (!isTyped(form)) return db.delete("drafts", name);
  await db.put("drafts", { name, at: Date.now(), values: valuesOf(form) });
  const told = form.querySelector("[data-kept-at]");
  if (told) {
    const time = new Intl.DateTimeFormat(document.documentElement.lang, { timeStyle: "short" }).format();
    told.textContent = `${told.dataset.keptAt} ${time}`;
  }
}

export async function dropDraft(form) {
  clearTimeout(timers.get(form));
  timers.delete(form);
  await (await store()).delete("drafts", await nameOf(form));
  const told = form.querySelector("[data-kept-at]");
  if (told) told.textContent = "";
}

function fill(form, values) {
  for (const field of fieldsOf(form)) {
    const mine = values.filter(([name]) => name === field.name).map(([, value]) => value);
    if (field.type === "radio" || field.type === "checkbox") field.checked = mine.includes(field.value);
    else if (mine.length) field.value = mine[0];
    else continue;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
}

async function putBack(form) {
  const draft = await (await store()).get("drafts", await nameOf(form));
  if (draft && Date.now() - draft.at < LONGEST && !isTyped(form)) fill(form, draft.values);
}

async function dropOld() {
  const db = await store();
  for (const draft of await db.getAll("drafts")) {
    if (Date.now() - draft.at >= LONGEST) await db.delete("drafts", draft.name);
  }
}

export async function dropDraftsOf(person) {
  const db = await store();
  for (const name of await db.getAllKeys("drafts")) {
    if (name.startsWith(`${person} `)) await db.delete("drafts", name);
  }
}

export async function keepDrafts() {
  await dropOld();
  await Promise.all(entryForms().map(putBack));
  document.addEventListener("input", ({ target }) => {
    const form = target.form;
    if (!form?.matches("form[data-entry]:not([data-no-draft])")) return;
    clearTimeout(timers.get(form));
    timers.set(form, setTimeout(() => keep(form), PAUSE));
  });
  // the camera, or the tablet's own switch to another program, may end the page without a further word
  const keepNow = () => [...timers.keys()].forEach((form) => keep(form));
  document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && keepNow());
  window.addEventListener("pagehide", keepNow);
}
