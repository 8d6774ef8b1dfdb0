// Locks a page at the bench once nobody has touched the tablet for a while. The page stays behind the lock as it
// is. The server keeps time as well: it is told of a touch once a minute, and when the lock has fallen.

import "./pin_pad.js";

const layer = document.getElementById("bench-lock");
const AFTER = Number(layer.dataset.minutes) * 60_000;
const TOLD_EVERY = 60_000;
const token = layer.querySelector("[name=csrfmiddlewaretoken]").value;
let touchedAt = Date.now();
let toldAt = Date.now();

function send(address) {
  // the tablet may be out of reach: then the server locks by its own clock
  const how = { method: "POST", headers: { "X-CSRFToken": token }, redirect: "manual", keepalive: true };
  return fetch(address, how).catch(() => null);
}

function show() {
  if (layer.open) return;
  layer.showModal();
  layer.querySelector("[name=secret]").focus();
}

function lock() {
  if (layer.open) return;
  show();
  send(layer.dataset.lock);
}

async function tell() {
  toldAt = Date.now();
  const answer = await send(layer.dataset.touch);
  if (answer?.type === "opaqueredirect") location.reload(); // no tablet of the shop any more
  else if (answer?.ok && !(await answer.json()).is_open) show();
}

function touch() {
  if (layer.open) return;
  // a tablet that slept is locked before the finger that wakes it reaches the page
  if (Date.now() - touchedAt >= AFTER) {
    lock();
    return;
  }
  touchedAt = Date.now();
  if (touchedAt - toldAt >= TOLD_EVERY) tell();
}

function look() {
  if (Date.now() - touchedAt >= AFTER) lock();
}

for (const kind of ["pointerdown", "keydown", "input"]) document.addEventListener(kind, touch, { capture: true });
document.addEventListener("visibilitychange", look);
window.addEventListener("focus", look);
window.addEventListener("pageshow", look);
setInterval(look, 5_000);

layer.addEventListener("cancel", (event) => event.preventDefault());
document.addEventListener("bench-locked", show);
document.addEventListener("bench-open", () => {
  touchedAt = toldAt = Date.now();
  layer.querySelector("[name=secret]").value = "";
  layer.querySelector("#error-summary")?.remove();
  layer.close();
});
document.querySelector("[data-lock-now]")?.addEventListener("submit", (event) => {
  event.preventDefault();
  lock();
});
