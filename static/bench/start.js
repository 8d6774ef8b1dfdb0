// Every page of the bench on a tablet: the outbox, the list, who works, and what is kept for the time without a network.

import { keepClock } from "./clock.js";
import { keepDrafts } from "./drafts.js";
import { keepForms } from "./forms.js";
import { keepDock, keepPages } from "./kept_pages.js";
import { keepList } from "./list.js";
import { keepSending, shopState } from "./sender.js";
import { keepSignOut, wipeStranger } from "./sign_out.js";
import { askForPin, ensureKey, keepNames, meet, PAGE, whoWorks } from "./who.js";

const LOOK_EVERY = 30_000;
const isOffline = () => document.documentElement.classList.contains("is-offline");

// An order that is handed out may be taken back meanwhile.
const isDockLookedAt = () => document.visibilityState === "visible" && document.getElementById("dock-call");

// What leads away from the bench needs the shop's computer, and says so instead of a browser's error page.
function keepFromDeadEnds() {
  const stop = (event) => {
    const way = event.target.closest("[data-needs-connection]");
    if (!way || !isOffline()) return;
    event.preventDefault();
    document.getElementById("bench-needs-connection").hidden = false;
  };
  document.addEventListener("click", stop, { capture: true });
  document.addEventListener("submit", stop, { capture: true });
}

// Forms of a kept page carry a token of then; the shop gives one of now.
function renewTokens(csrf) {
  for (const field of document.querySelectorAll("[name=csrfmiddlewaretoken]")) field.value = csrf;
  document.body.setAttribute("hx-headers", JSON.stringify({ "X-CSRFToken": csrf }));
}

async function askShop() {
  const state = await shopState();
  if (state?.isStranger) {
    await wipeStranger();
    document.getElementById("bench-stranger").hidden = false;
  } else if (state) {
    renewTokens(state.csrf);
    await askForPin(state);
    await ensureKey(state);
  }
  return state;
}

async function meetShop() {
  const asking = askShop();
  meet(asking);
  const state = await asking;
  if (!state?.isStranger) await keepPages({ isOpen: state?.open_person?.pk === PAGE.person });
}

function keepScan() {
  for (const button of document.querySelectorAll("[data-scan]")) {
    button.hidden = !navigator.mediaDevices?.getUserMedia;
    button.addEventListener("click", async () => (await import("./scan.js")).scan(button.form));
  }
}

// Where the browser reads no codes by itself, the reader is there before the network goes.
function fetchReader() {
  if (!("BarcodeDetector" in globalThis) && document.querySelector("[data-scan]")) {
    import("../vendor/jsqr/jsQR.js").catch(() => null);
  }
}

// Where a panel opens, reading goes on; the keyboard of the tablet comes only for the field that is touched.
function followPanel() {
  document.querySelector(".panel:target h2")?.focus();
}

async function begin() {
  await whoWorks();
  keepForms();
  keepNames();
  keepList();
  keepClock();
  keepSignOut();
  keepDock();
  keepFromDeadEnds();
  keepScan();
  window.addEventListener("hashchange", followPanel);
  await keepDrafts();
  navigator.storage?.persist?.();
  window.addEventListener("online", meetShop);
  // a PIN that nobody answers, or any other part of a page: is the shop in reach at all?
  document.addEventListener("htmx:sendError", shopState);
  document.addEventListener("visibilitychange", () => isDockLookedAt() && shopState());
  setInterval(() => document.visibilityState === "visible" && isOffline() && shopState(), LOOK_EVERY);
  keepSending();
  await meetShop();
  setTimeout(fetchReader, LOOK_EVERY);
}

begin();
