// Who works here now: whoever gave the PIN last; without a connection a name of the last twelve hours, or a typed one.

import { freshNames, keepKey, keyOf } from "./signing.js";
import { fact, keepFact, store, tellAll } from "./store.js";

const { person, personName, stay, device } = document.documentElement.dataset;
export const PAGE = { person: Number(person), name: personName, stay: Number(stay), device: Number(device) };
const WHO = "who";
// a first entry right after the PIN waits so long for the key that is on its way
const KEY_WAIT = 1500;
// settles when the shop has given the key, or can't be asked
let meeting = Promise.resolve();

const byPin = () => ({ person: PAGE.person, name: PAGE.name, stay: PAGE.stay, by: "pin" });

// A later PIN than the one known here is the page's own; else whoever was chosen since goes on.
export async function whoWorks() {
  const kept = await fact(WHO);
  if (kept && kept.stay >= PAGE.stay) return kept;
  await keepFact(WHO, byPin());
  await markPages(PAGE.person);
  return byPin();
}

export async function chooseWho({ person: chosen, name }) {
  const before = await whoWorks();
  const isBack = chosen === PAGE.person && before.by === "pin";
  await keepFact(WHO, isBack ? before : { person: chosen, name, stay: before.stay, by: chosen ? "name" : "said" });
  if (chosen) await markPages(chosen);
  tellAll();
}

export async function forgetWho() {
  await (await store()).delete("facts", WHO);
  await globalThis.caches?.delete("bench-who");
}

// The service worker shows the pages of this person when there is no connection.
async function markPages(chosen) {
  const cache = await globalThis.caches?.open("bench-who");
  await cache?.put("/bench/", new Response(String(chosen)));
}

// -- the key of whoever gave the PIN ---------------------------------------------------------------------

async function askForKey(csrf) {
  const how = { method: "POST", redirect: "manual", headers: { "X-CSRFToken": csrf } };
  const answer = await fetch("/bench/key/", how);
  if (answer.status === 200) await keepKey(await answer.json(), { stay: PAGE.stay });
}

export async function ensureKey(state) {
  if (state?.open_person?.pk !== PAGE.person) return;
  const kept = await keyOf(PAGE.person);
  if (kept?.stay >= PAGE.stay) return;
  await askForKey(state.csrf).catch(() => null);
}

// An entry that is logged meanwhile waits a moment, once; without the key the desk would have to look at it.
export function meet(asking) {
  const patience = new Promise((resolve) => setTimeout(resolve, KEY_WAIT));
  meeting = Promise.race([asking, patience]);
}

export async function waitForKey(who) {
  if (who.by === "pin" && !(await keyOf(who.person))) await meeting;
}

// -- choosing without a connection -----------------------------------------------------------------------

function nameButton(row, chosen) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button full";
  button.textContent = row.name;
  button.addEventListener("click", () => chosen({ person: row.person, name: row.name }));
  const item = document.createElement("li");
  item.append(button);
  return item;
}

async function offerNames(box) {
  const rows = await freshNames();
  const pick = async (who) => {
    await chooseWho(who);
    document.dispatchEvent(new CustomEvent("bench-who", { detail: who }));
  };
  box.querySelector("[data-name-list]").replaceChildren(...rows.map((row) => nameButton(row, pick)));
  const form = box.querySelector("form");
  form.onsubmit = (event) => {
    event.preventDefault();
    const name = form.elements.said_name.value.trim();
    if (name) pick({ person: null, name });
    form.reset();
  };
}

async function showWho() {
  const who = await whoWorks();
  for (const place of document.querySelectorAll("[data-working]")) {
    place.textContent = who.by === "said" ? `${who.name} (${place.dataset.unproven})` : who.name;
  }
}

// The lock opens; whoever has pages of their own here goes to them, and everybody else stays on this one.
async function goOnAs(who) {
  document.dispatchEvent(new Event("bench-open"));
  document.querySelector(".bench-head .menu")?.removeAttribute("open");
  if (!who.person || who.person === PAGE.person || !globalThis.caches) return;
  const pages = `bench-pages-${who.person}`;
  if ((await caches.has(pages)) && (await (await caches.open(pages)).match("/bench/"))) location.assign("/bench/");
}

// Chosen by name, and the shop is in reach again: the PIN is asked for before anything else.
export async function askForPin(state) {
  const who = await whoWorks();
  const dialog = document.getElementById("bench-pin-again");
  const isProven = who.by === "pin" && (state.open_person?.pk ?? PAGE.person) === who.person;
  if (!isProven && dialog && !dialog.open) dialog.showModal();
}

export function keepNames() {
  const offerAll = () => document.querySelectorAll("[data-names]").forEach(offerNames);
  document.addEventListener("bench-changed", showWho);
  document.querySelectorAll("[data-names]").forEach((box) => box.closest("details")?.addEventListener("toggle", offerAll));
  document.addEventListener("bench-who", ({ detail }) => goOnAs(detail));
  offerAll();
  showWho();
}
