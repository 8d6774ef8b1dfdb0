// The customer's answer at the dock: the shop worked out what each set comes to beforehand; here it is only looked up.

import { listed, stateOf } from "./outbox.js";

const forms = [...document.querySelectorAll("form[data-entry=signature]")];
const byChoice = ([one], [other]) => one - other;

// as the shop writes a set: "5:9 6:none"
function setOf(form) {
  const picked = [...form.querySelectorAll("[type=radio]:checked")];
  return picked
    .map(({ name, value }) => [Number(name.replace("choice-", "")), value])
    .sort(byChoice)
    .map((pair) => pair.join(":"))
    .join(" ");
}

function showTotal(form) {
  const templates = [...form.querySelectorAll("template[data-set]")];
  const wanted = setOf(form);
  const found = templates.find(({ dataset }) => dataset.set === wanted) ?? templates.find(({ dataset }) => !dataset.set);
  form.querySelector("[data-total-place]").replaceChildren(found.content.cloneNode(true));
  form.elements.total.value = found.dataset.total ?? "";
  form.elements.says.value = found.dataset.words ?? "";
}

// Whoever says yes says it to every question; a no needs none of them.
function checkPicks(form, answer) {
  if (answer !== "approve") return;
  for (const field of form.querySelectorAll("[type=radio]")) {
    if (form.elements[field.name].value) continue;
    field.setCustomValidity(form.dataset.unpicked);
    return;
  }
}

// What was answered here is not asked again, whatever the kept page says.
async function showAnswered(form) {
  const rows = (await listed()).filter((row) => row.kind === "signature" && row.about === form.dataset.about);
  const notice = form.parentElement.querySelector("[data-answered]");
  const isNew = rows.length > 0 && !form.hidden;
  form.hidden = rows.length > 0;
  notice.hidden = !rows.length;
  if (!rows.length) return;
  // what stood here is gone: whoever signed sees at once what became of it
  if (isNew) notice.scrollIntoView({ block: "center" });
  const state = stateOf(rows[0]);
  for (const word of notice.querySelectorAll("[data-answered-when]")) word.hidden = word.dataset.answeredWhen !== state;
  notice.querySelector("[data-answered-why]").textContent = state === "review" ? rows[0].reason : "";
}

for (const form of forms) {
  form.addEventListener("change", () => showTotal(form));
  form.addEventListener("bench-check", ({ detail }) => checkPicks(form, detail?.value));
  form.addEventListener("reset", () => {
    form.querySelector("[data-pad-clear]").click();
    setTimeout(showTotal, 0, form);
  });
  document.addEventListener("bench-changed", () => showAnswered(form));
  showTotal(form);
  showAnswered(form);
}
