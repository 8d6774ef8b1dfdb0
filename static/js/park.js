// Puts a half-written form aside with one key, and brings it back as it was left.
// What is kept is the text of the fields; files, keys and passwords never are.

const sheet = document.querySelector("[data-park]");
const NOT_KEPT = ["csrfmiddlewaretoken", "once_key", "parked"];
let touched = null;

// who types a password or a PIN has nothing to put aside, and it would not be kept
const isSecret = (form) => form.querySelector("[type=password]");
const forms = () => [...document.querySelectorAll("main form[method=post]")];
const isWritable = (form) => form.querySelector("input:not([type=hidden], [type=submit]), select, textarea");
const target = () =>
  (touched?.isConnected && touched) ||
  forms().find((form) => form.matches(".form") && isWritable(form) && !isSecret(form));
const nameOf = (form) => form.id || `#${forms().indexOf(form)}`;
const byName = (name) =>
  name.startsWith("#") ? forms()[Number(name.slice(1))] : forms().find((form) => form.id === name);

function fieldsOf(form) {
  const secret = [...form.querySelectorAll("[type=password]")].map((field) => field.name);
  return [...new FormData(form)].filter(
    ([name, value]) => typeof value === "string" && !NOT_KEPT.includes(name) && !secret.includes(name),
  );
}

// An address that only takes forms can't be opened again: the page before it in this window can.
function remember() {
  if (sheet.dataset.park === "GET") sessionStorage.setItem("page", location.pathname + location.search);
}
const page = () =>
  sheet.dataset.park === "GET" ? location.pathname + location.search : sessionStorage.getItem("page");

function heading() {
  const head = document.querySelector("main .page-head") ?? document.querySelector("main");
  const words = [head.querySelector("h1"), head.querySelector(".lede")].map((one) => one?.innerText.trim());
  return words.filter(Boolean).join(": ") || document.title;
}

function park(then) {
  const form = target();
  if (!form || !page()) return false;
  const put = (name, value) => (sheet.elements[name].value = value);
  put("title", heading().slice(0, 200));
  put("path", page());
  put("form", nameOf(form));
  put("fields_json", JSON.stringify(fieldsOf(form)));
  put("parked", form.elements.parked?.value ?? "");
  put("then", then);
  sheet.requestSubmit();
  return true;
}

function offer() {
  sheet.hidden = !target();
}

// -- bringing back ---------------------------------------------------------------------------------

function tell(control) {
  control.dispatchEvent(new Event("input", { bubbles: true }));
  control.dispatchEvent(new Event("change", { bubbles: true }));
}

function open(control) {
  for (let fold = control.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
}

function setOne(control, values) {
  if (control.type === "checkbox" || control.type === "radio") {
    const wanted = values.includes(control.value);
    if (control.checked === wanted) return false;
    control.checked = wanted;
  } else if (control.type === "select-multiple") {
    for (const option of control.options) option.selected = values.includes(option.value);
  } else {
    if (!values.length) return false;
    const value = values.shift();
    if (control.value === value) return false;
    control.value = value;
  }
  return true;
}

// Gives back the fields for which there is no place yet: some come only after others are filled.
function fill(form, fields, only) {
  const left = new Map();
  for (const [name, value] of fields) left.set(name, [...(left.get(name) ?? []), value]);
  const seen = new Set();
  for (const control of [...form.elements]) {
    const isKept = control.name && control.type !== "file" && !NOT_KEPT.includes(control.name);
    if (!isKept || (only && !only.has(control.name))) continue;
    seen.add(control.name);
    if (!setOne(control, left.get(control.name) ?? [])) continue;
    if (control.type !== "hidden") open(control);
    tell(control);
  }
  return new Set([...left.keys()].filter((name) => !seen.has(name)));
}

function mark(form, pk) {
  const number = form.elements.parked ?? form.appendChild(document.createElement("input"));
  Object.assign(number, { type: "hidden", name: "parked", value: pk });
}

function resume() {
  const kept = JSON.parse(document.getElementById("resumed-form")?.textContent ?? "null");
  if (!kept) return;
  const form = byName(kept.form);
  if (!form) {
    document.getElementById("resume-missed").hidden = false;
    return;
  }
  mark(form, kept.pk);
  touched = form;
  if (!kept.fields) return;
  let missing = fill(form, kept.fields);
  document.addEventListener("htmx:afterSettle", () => {
    if (missing.size && form.isConnected) missing = fill(form, kept.fields, missing);
  });
}

if (sheet) {
  remember();
  resume();
  offer();
  document.addEventListener("input", (event) => {
    const form = event.target.form;
    if (!form?.matches("main form[method=post]") || isSecret(form)) return;
    touched = form;
    offer();
  });
  document.addEventListener("htmx:afterSettle", offer);
  sheet.querySelector("button").addEventListener("click", (event) => {
    event.preventDefault();
    park("today");
  });
  document.addEventListener("keydown", (event) => {
    if (!event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (event.code === "KeyP" && park("today")) event.preventDefault();
    if (event.code === "KeyC") {
      event.preventDefault();
      if (!touched || !park("call")) location.assign(sheet.dataset.call);
    }
  });
}
