// Where the keyboard goes: "/" to the search box, "?" to the list of keys, to the error summary after a refused form.
// Everything listens on the document, so parts swapped in by htmx need no second start.

function isTyping(target) {
  return target.isContentEditable || target.matches("input, select, textarea");
}

function focusSummary(within) {
  const summary = within.id === "error-summary" ? within : within.querySelector("#error-summary");
  summary?.focus();
}

function controlNamedBy(link) {
  const target = document.getElementById(link.hash.slice(1));
  const control = "input:not([type=hidden]), select, textarea";
  return target?.matches(control) ? target : target?.querySelector(control);
}

function hideFailed() {
  const notice = document.getElementById("request-failed");
  if (notice) notice.hidden = true;
}

function showFailed(kind, reference = "") {
  const notice = document.getElementById("request-failed");
  if (!notice) return;
  for (const words of notice.querySelectorAll("[data-failed]")) words.hidden = words.dataset.failed !== kind;
  notice.querySelector("[data-failed-reference]").textContent = reference;
  notice.hidden = false;
}

function kindOf(status) {
  if (status === 413) return "large";
  return status >= 500 ? "breakdown" : "gone";
}

// A device without a network may still reach a shop's computer that it is itself: ask before saying so.
async function showConnection() {
  const notice = document.getElementById("no-connection");
  if (!notice) return;
  notice.hidden = true;
  if (navigator.onLine) return;
  try {
    await fetch("/health/", { method: "HEAD" });
  } catch {
    notice.hidden = navigator.onLine;
  }
}

function goToFind() {
  const box = document.querySelector("[data-find]");
  box?.focus();
  box?.select();
  return Boolean(box);
}

function openKeys() {
  const keys = document.getElementById("keys");
  if (keys && !keys.open) keys.showModal();
  return Boolean(keys);
}

// Who speaks to the device, or holds a key down by chance, may switch the single keys off.
document.addEventListener("keydown", (event) => {
  const deed = { "/": goToFind, "?": openKeys }[event.key];
  const isOff = document.documentElement.dataset.keys === "off";
  if (!deed || isOff || event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return;
  if (document.querySelector("dialog[open]")) return;
  if (deed()) event.preventDefault();
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const open = event.target.closest("details.menu[open]");
  if (!open) return;
  open.open = false;
  open.querySelector("summary").focus();
});

document.addEventListener("click", (event) => {
  for (const menu of document.querySelectorAll("details.menu[open]")) {
    if (!menu.contains(event.target)) menu.open = false;
  }
  if (event.target.closest("[data-open-keys]")) openKeys();
  if (event.target.closest("[data-close-keys]")) document.getElementById("keys").close();
  if (event.target.closest("[data-close-failed]")) hideFailed();
  const link = event.target.closest(".error-summary a[href^='#']");
  const control = link && controlNamedBy(link);
  if (!control) return;
  event.preventDefault();
  control.focus();
});

focusSummary(document);
document.addEventListener("htmx:load", (event) => focusSummary(event.target));
document.addEventListener("htmx:beforeRequest", () => hideFailed());
document.addEventListener("htmx:sendError", () => showFailed("connection"));
document.addEventListener("htmx:timeout", () => showFailed("connection"));
document.addEventListener("htmx:responseError", (event) => {
  // A 409 or 422 brings its own words and is swapped in; the rest must not fail in silence.
  if (event.detail.shouldSwap) return;
  const answer = event.detail.xhr;
  showFailed(kindOf(answer.status), answer.getResponseHeader("X-Reference") ?? "");
});
window.addEventListener("online", showConnection);
window.addEventListener("offline", showConnection);
showConnection();
