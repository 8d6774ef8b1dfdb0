// A form that bears data-entry becomes an entry of the tablet, with or without a connection.

import { dropDraft } from "./drafts.js";
import { addEntry } from "./outbox.js";
import { drain } from "./sender.js";
import { newId, sha256 } from "./signing.js";
import { showLogged, showTrouble } from "./list.js";
import { waitForKey, whoWorks } from "./who.js";

const NUMBER = /^[\s\d.,’' \u2009\u202f-]*$/;
const busy = new WeakSet();
const isShown = (field) => field.type !== "hidden" && field.name && field.type !== "file";

// -- what was typed ----------------------------------------------------------------------------------

function contentOf(form, button) {
  const content = button?.name ? { [button.name]: button.value } : {};
  for (const [name, value] of new FormData(form)) {
    if (typeof value !== "string") continue;
    content[name] = name in content ? `${content[name]},${value}` : value;
  }
  return content;
}

function wordsOfField(field) {
  if (field.type === "radio" || field.type === "checkbox") {
    return field.checked && field.value ? (field.closest("label")?.innerText.trim() ?? "") : "";
  }
  if (!field.value.trim()) return "";
  if (field.type === "select-one") return field.selectedOptions[0].text.trim();
  const unit = field.closest(".with-unit")?.lastElementChild?.textContent ?? "";
  return [field.value.trim(), unit].filter(Boolean).join(" ");
}

// What the list says of the entry: the form's own words, or its name, what was found, and what was filled in.
function wordsOf(form) {
  const filled = [...form.elements].filter(isShown).map(wordsOfField).filter(Boolean);
  const told = [form.dataset.found, filled.join(", ")].filter(Boolean).join("; ");
  const says = form.dataset.says ?? [form.dataset.title, told].filter(Boolean).join(": ");
  return says.length > 200 ? `${says.slice(0, 199)}…` : says;
}

// -- what is plainly wrong is said at once; the rest the shop checks ----------------------------------

function mark(field, sentence) {
  field.setCustomValidity(sentence);
  field.addEventListener("input", () => field.setCustomValidity(""), { once: true });
}

function checkNumbers(form) {
  for (const field of form.querySelectorAll("[inputmode=decimal], [inputmode=numeric]")) {
    const isFine = !field.value.trim() || (NUMBER.test(field.value) && /\d/.test(field.value));
    if (!isFine) mark(field, form.dataset.noNumber ?? document.body.dataset.noNumber);
  }
}

// data-one-of names fields of which one at least must be filled
function checkOneOf(form) {
  const names = form.dataset.oneOf?.split(" ");
  if (!names) return;
  const content = contentOf(form);
  if (names.some((name) => content[name]?.trim())) return;
  const first = names.map((name) => form.elements[name]).find((field) => field?.focus && field.type !== "hidden");
  if (first) mark(first, form.dataset.oneOfWords ?? document.body.dataset.missing);
}

// A container says which looks of a fluid it never takes, and takes only what was drained.
function checkContainer(form) {
  const picked = form.querySelector("[data-never]:checked");
  if (!picked) return;
  const { condition: look, drained } = form.elements;
  if (look.value && picked.dataset.never.split(" ").includes(look.value)) mark(look, form.dataset.neverWords);
  if (!drained.value.trim()) mark(drained, form.dataset.drainedWords);
}

function isFine(form, button) {
  for (const field of form.elements) field.setCustomValidity?.("");
  form.dispatchEvent(new CustomEvent("bench-check", { detail: button }));
  checkNumbers(form);
  checkOneOf(form);
  checkContainer(form);
  return form.reportValidity();
}

// -- into the outbox -----------------------------------------------------------------------------------

async function photoOf(form) {
  const file = form.querySelector("[type=file]")?.files[0];
  if (!file) return null;
  const bytes = await file.arrayBuffer();
  return { bytes, type: file.type, sha256: await sha256(bytes) };
}

function close(form) {
  if (form.closest(".panel")) location.replace("#logged");
}

async function log(form, button) {
  const [who, photo] = [await whoWorks(), await photoOf(form)];
  await waitForKey(who);
  for (const field of form.querySelectorAll("[data-new-id]")) field.value = newId();
  const content = contentOf(form, button);
  if (photo) content.sha256 = photo.sha256;
  const job = Number(form.dataset.job ?? document.body.dataset.job) || null;
  const about = form.dataset.about ?? null;
  const entry = await addEntry({ who, kind: form.dataset.entry, job, content, words: wordsOf(form), photo, about });
  await dropDraft(form);
  form.reset();
  form.querySelector(".photo-previews")?.replaceChildren();
  close(form);
  showLogged(entry);
  drain();
}

async function send(form, button) {
  if (busy.has(form) || !isFine(form, button)) return;
  busy.add(form);
  try {
    await log(form, button);
  } catch (error) {
    // no room, or storage shut off: what was typed is still there
    showTrouble(error);
  } finally {
    busy.delete(form);
  }
}

// A planned line brings its own quantity along; the steps beside a number save the keyboard.
function pick({ target }) {
  const { quantity } = target.dataset ?? {};
  if (quantity && target.checked && target.form?.elements.quantity) target.form.elements.quantity.value = quantity;
}

function step({ target }) {
  const button = target.closest("[data-step]");
  const field = button?.parentElement.querySelector("input");
  if (!field) return;
  const isWithComma = field.value.includes(",");
  const value = Number(field.value.replace(",", ".")) + Number(button.dataset.step);
  if (!(value > 0)) return;
  field.value = isWithComma ? String(value).replace(".", ",") : String(value);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

// One tap writes what is known of a part or a point; what the plan names already stays.
function fill({ target }) {
  const button = target.closest("[data-fill]");
  const form = button?.form;
  if (!form) return;
  for (const [name, value] of Object.entries(JSON.parse(button.dataset.fill))) {
    if (name === "product" && form.elements.line?.value) continue;
    const field = form.elements[name];
    if (field) field.value = value;
  }
  const next = form.elements[button.dataset.then];
  next.dispatchEvent(new Event("input", { bubbles: true }));
  next.focus();
  next.select();
}

export function keepForms() {
  document.addEventListener("change", pick);
  document.addEventListener("click", step);
  document.addEventListener("click", fill);
  // before anybody else takes it for a form that is sent
  const take = (event) => {
    if (!event.target.matches("form[data-entry]")) return;
    event.preventDefault();
    send(event.target, event.submitter);
  };
  document.addEventListener("submit", take, { capture: true });
}
