// Long text is kept in this browser while it is written, and offered back after a reload or an ended session.
// Only fields with data-keep, only for whoever is signed in, until it was sent; signing out forgets it all.

const PREFIX = "shop-words:";
const SENT = "shop-words-sent";
const DAY = 24 * 60 * 60 * 1000;
const LONGEST_DAYS = 3;
const MOST = 3; // of one form: what is offered, and what was typed before anybody decided
const SAME_START = 1500; // ms between sending a form and the start of the page that answers it
const person = document.documentElement.dataset.person;
const mine = new Map(); // form → the moment under which this page keeps its words

function stored(key) {
  try {
    return JSON.parse(localStorage.getItem(key)) ?? [];
  } catch {
    return [];
  }
}

function store(key, entries) {
  try {
    if (entries.length) localStorage.setItem(key, JSON.stringify(entries.slice(-MOST)));
    else localStorage.removeItem(key);
  } catch {
    return; // full, or shut off: typing goes on as it did before
  }
}

function allKeys() {
  try {
    return Object.keys(localStorage).filter((key) => key.startsWith(PREFIX));
  } catch {
    return [];
  }
}

const fieldsOf = (form) => [...form.elements].filter((one) => "keep" in one.dataset && !one.disabled);
const forms = () => [...document.forms].filter((form) => fieldsOf(form).length);

// the address a form is sent to names its record; several forms of one address stand in their order
function keyOf(form) {
  const address = new URL(form.getAttribute("action") || "", location.href);
  address.searchParams.delete("parked");
  const path = address.pathname + address.search;
  const same = forms().filter((one) => one.action === form.action);
  return `${PREFIX}${person}:${path}:${same.indexOf(form)}`;
}

// -- keeping -----------------------------------------------------------------------------------------

function keep(form) {
  if (!mine.has(form)) mine.set(form, Date.now());
  const at = mine.get(form);
  const others = stored(keyOf(form)).filter((entry) => entry.at !== at);
  const fields = fieldsOf(form);
  const isTyped = fields.some((field) => field.value !== field.defaultValue && field.value.trim());
  const entry = { at, typed: Date.now(), words: fields.map((field) => [field.name, field.value]) };
  store(keyOf(form), isTyped ? [...others, entry] : others);
}

// -- forgetting --------------------------------------------------------------------------------------

const here = () => location.href.split("#")[0];

function remember(keys) {
  try {
    sessionStorage.setItem(SENT, JSON.stringify({ at: Date.now(), from: here(), keys }));
  } catch {
    return;
  }
}

// What was sent is forgotten when the answer leads on from there: a form with a mistake, an ended session and
// a lost connection do not. The answer starts when the form is sent, and comes from the form's own page.
function forgetSent() {
  let sent;
  try {
    sent = JSON.parse(sessionStorage.getItem(SENT));
    sessionStorage.removeItem(SENT);
  } catch {
    return;
  }
  const [opened] = performance.getEntriesByType("navigation");
  const isAnswer = sent?.from === document.referrer && Math.abs(performance.timeOrigin - sent.at) < SAME_START;
  if (isAnswer && opened?.redirectCount > 0) for (const key of sent.keys) store(key, []);
}

function forgetOld() {
  const oldest = Date.now() - LONGEST_DAYS * DAY;
  for (const key of allKeys()) store(key, stored(key).filter((entry) => entry.typed > oldest));
}

// -- offering ----------------------------------------------------------------------------------------

function whenTyped(moment) {
  const isToday = new Date(moment).toDateString() === new Date().toDateString();
  const style = isToday ? { timeStyle: "short" } : { dateStyle: "medium", timeStyle: "short" };
  return new Intl.DateTimeFormat(document.documentElement.lang, style).format(moment);
}

const pairs = (form, entry) =>
  fieldsOf(form)
    .map((field, at) => [field, entry.words[at]])
    .filter(([field, kept]) => kept?.[0] === field.name && kept[1] !== field.value);

function putBack(form, entry) {
  const changed = pairs(form, entry);
  for (const [field, [, words]] of changed) {
    field.value = words;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
  changed[0]?.[0].focus();
}

function offer(form) {
  form.querySelector("[data-kept-words]")?.remove();
  const key = keyOf(form);
  const waiting = stored(key).filter((entry) => entry.at !== mine.get(form));
  const entry = waiting.findLast((one) => pairs(form, one).some(([, [, words]]) => words.trim()));
  if (!entry) return;
  const notice = document.getElementById("kept-words").content.firstElementChild.cloneNode(true);
  const [first, [, words]] = pairs(form, entry).find(([, kept]) => kept[1].trim());
  notice.querySelector("[data-typed-at]").textContent = whenTyped(entry.typed);
  notice.querySelector("[data-typed-words]").textContent = words.length > 120 ? `${words.slice(0, 120)}…` : words;
  const decide = (deed) => {
    store(key, stored(key).filter((one) => one.at !== entry.at));
    notice.remove();
    deed();
  };
  notice.querySelector("[data-put-back]").addEventListener("click", () => decide(() => putBack(form, entry)));
  notice.querySelector("[data-throw-away]").addEventListener("click", () => decide(() => offer(form)));
  (first.closest(".field") ?? first).before(notice);
}

const offerAll = () => forms().forEach(offer);

// also where nobody is signed in: a locked tablet is left to somebody else
document.addEventListener("submit", ({ target }) => {
  if ("forgetWords" in target.dataset) allKeys().forEach((key) => store(key, []));
});

if (person) {
  forgetSent();
  forgetOld();
  offerAll();
  document.addEventListener("input", ({ target }) => {
    if (target.form && "keep" in (target.dataset ?? {})) keep(target.form);
  });
  document.addEventListener("submit", ({ target }) => {
    if ("park" in target.dataset) remember([...mine.keys()].map(keyOf));
    else if (fieldsOf(target).length) remember([keyOf(target)]);
  });
  window.addEventListener("pageshow", ({ persisted }) => persisted && forgetSent());
}
