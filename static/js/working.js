// Says so when something takes longer than a second: a form that was sent, photos, a paper that is being made.
// Every form and every link to a paper is heard here, so no page has to ask for it.

const AFTER = 1000;
// a paper that was saved as a file leaves the page where it is, and nothing tells that it came
const PAPER_AT_MOST = 15_000;
const notice = document.getElementById("working");
let waiting = null;

function rest() {
  clearTimeout(waiting);
  waiting = null;
  if (notice) notice.hidden = true;
  for (const busy of document.querySelectorAll("form[aria-busy]")) busy.removeAttribute("aria-busy");
}

function work(words, form) {
  if (!notice) return;
  rest();
  form?.setAttribute("aria-busy", "true");
  waiting = setTimeout(() => {
    notice.textContent = words;
    notice.hidden = false;
  }, AFTER);
}

const hasPhotos = (form) => [...form.elements].some((one) => one.type === "file" && one.files.length);
const isPaper = (link) => /[-/](paper|receipt|sheet|tag|label)\/$/.test(link.pathname);
const isPlainClick = (event) => !event.ctrlKey && !event.metaKey && !event.shiftKey && event.button === 0;

document.addEventListener("submit", (event) => {
  // htmx sends the form itself, and says when the answer is there
  if (event.defaultPrevented) return;
  work(hasPhotos(event.target) ? notice?.dataset.photoWords : notice?.dataset.words, event.target);
});
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  if (!link || !isPlainClick(event) || !isPaper(link)) return;
  work(notice?.dataset.paperWords);
  setTimeout(rest, PAPER_AT_MOST);
});
document.addEventListener("htmx:beforeRequest", () => work(notice?.dataset.words));
document.addEventListener("htmx:afterRequest", rest);
document.addEventListener("shop:preparing", () => work(notice?.dataset.photoWords));
document.addEventListener("shop:prepared", rest);
window.addEventListener("pageshow", rest);
