// The box that finds everything: down and up walk through the answers, escape goes back to the box.
// The answers come by htmx; this listens on the document, so nothing starts anew when they are swapped.

const box = () => document.querySelector("[data-find]");
const answers = () => [...document.querySelectorAll("#find-answers [data-answer]")];

function step(event, from) {
  const all = answers();
  const next = event.key === "ArrowDown" ? from + 1 : from - 1;
  if (next >= all.length) return;
  event.preventDefault();
  (next < 0 ? box() : all[next]).focus();
}

document.addEventListener("keydown", (event) => {
  const within = event.target.closest(".find");
  if (!within) return;
  if (event.key === "ArrowDown" || event.key === "ArrowUp") step(event, answers().indexOf(event.target));
  if (event.key === "Escape") {
    document.getElementById("find-answers").replaceChildren();
    box().focus();
  }
});
