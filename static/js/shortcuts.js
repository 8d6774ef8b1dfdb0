// Where the keyboard goes: "/" to the search box, to the error summary after a refused form.
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

function showFailed(visible) {
  const notice = document.getElementById("request-failed");
  if (notice) notice.hidden = !visible;
}

document.addEventListener("keydown", (event) => {
  const plain = event.key === "/" && !event.ctrlKey && !event.metaKey && !event.altKey;
  if (!plain || isTyping(event.target)) return;
  const box = document.querySelector("[data-find]");
  if (!box) return;
  event.preventDefault();
  box.focus();
  box.select();
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
  if (event.target.closest("[data-close-failed]")) showFailed(false);
  const link = event.target.closest(".error-summary a[href^='#']");
  const control = link && controlNamedBy(link);
  if (!control) return;
  event.preventDefault();
  control.focus();
});

focusSummary(document);
document.addEventListener("htmx:load", (event) => focusSummary(event.target));
document.addEventListener("htmx:beforeRequest", () => showFailed(false));
document.addEventListener("htmx:sendError", () => showFailed(true));
document.addEventListener("htmx:timeout", () => showFailed(true));
document.addEventListener("htmx:responseError", (event) => {
  // A 409 or 422 brings its own words and is swapped in; the rest must not fail in silence.
  if (!event.detail.shouldSwap) showFailed(true);
});
