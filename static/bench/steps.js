// Steps and joints: what is ticked stands there at once, with or without a network, whatever the page knew.

import { drain } from "./sender.js";
import { addEntry, listed, stateOf, undo } from "./outbox.js";
import { showLogged, showTrouble } from "./list.js";
import { fact, latest } from "./store.js";
import { waitForKey, whoWorks } from "./who.js";

const known = JSON.parse(document.getElementById("known-steps")?.textContent ?? "{}");
const job = Number(document.body.dataset.job) || null;
const MADE_AT = Date.parse(document.documentElement.dataset.madeAt);
const ask = document.getElementById("step-ask");
const going = new Set();
// what is ticked of each step: "stage/fastener" → { who, at, entry }; noughts stand for all of it
let ticked = {};

const nameOf = (stage, fastener) => `${stage}/${fastener}`;
const placeOf = ({ step, stage, fastener }) => [String(step), nameOf(Number(stage) || 0, Number(fastener) || 0)];

// -- what stands: the shop's ticks as the page had them, and this tablet's own -----------------------------

function toldByShop(rows) {
  const found = {};
  const undone = rows.filter((row) => row.isUndone).map((row) => [row.person, ...placeOf(row.content)].join(" "));
  for (const [step, { ticks }] of Object.entries(known)) {
    found[step] = new Map();
    for (const [stage, fastener, person, who, at] of ticks) {
      const place = nameOf(stage, fastener);
      // the page was made before it was taken back here
      if (undone.includes([person, step, place].join(" "))) continue;
      found[step].set(place, { who, at: Date.parse(at), entry: null });
    }
  }
  return found;
}

// the page's time is the shop's, and this tablet's clock may be off
async function read() {
  const rows = (await listed({ job })).filter((row) => row.kind === "tick");
  for (const row of rows) row.content = JSON.parse(row.text).content;
  return { rows, ahead: (await fact("offset")) ?? 0 };
}

function standing({ rows, ahead }) {
  const found = toldByShop(rows);
  for (const row of rows.filter((one) => !one.isUndone).reverse()) {
    const [step, place] = placeOf(row.content);
    // what the shop had received before it made the page and does not show was struck out there
    const isOld = row.receivedAt + ahead < MADE_AT && !found[step]?.has(place);
    if (found[step] && !isOld) found[step].set(place, { who: row.name, at: row.at, entry: row });
  }
  return found;
}

const look = latest(read, (told) => {
  ticked = standing(told);
  show();
});

function numbersOf(step, stage) {
  const has = ticked[step];
  const all = Array.from({ length: known[step].stages[stage - 1] }, (_, index) => index + 1);
  return all.filter((number) => has.has(nameOf(stage, number)) || has.has(nameOf(stage, 0)));
}

const isWhole = (step, stage) => numbersOf(step, stage).length === known[step].stages[stage - 1];
const isDone = (step) =>
  known[step].stages.length ? known[step].stages.every((_, index) => isWhole(step, index + 1)) : ticked[step].size > 0;
const isWaiting = ({ entry }) => entry !== null && stateOf(entry) === "waiting";
const isForDesk = ({ entry }) => entry !== null && stateOf(entry) === "review";

function tellWhere(place, ticks) {
  place.querySelector("[data-here]").hidden = !ticks.some(isWaiting);
  place.querySelector("[data-for-desk]").hidden = !ticks.some(isForDesk);
}

// -- showing it ----------------------------------------------------------------------------------------------

const clock = (at) => new Intl.DateTimeFormat(document.documentElement.lang, { timeStyle: "short" }).format(at);

function showRow(row) {
  const { step } = row.dataset;
  const ticks = [...ticked[step].values()].sort((one, other) => one.at - other.at);
  const done = isDone(step);
  row.dataset.state = done ? "done" : "open";
  tellWhere(row, ticks);
  if (done) row.querySelector("[data-ticked-by]").textContent = `${ticks.at(-1).who}, ${clock(ticks.at(-1).at)}`;
  const button = row.querySelector("[data-undo]");
  if (!button) return;
  const mine = done && ticks.at(-1).entry;
  button.hidden = !mine;
  button.dataset.undo = mine ? mine.id : "";
}

function showStage(panel, box) {
  const [step, stage] = [panel.dataset.joint, Number(box.dataset.stage)];
  const done = numbersOf(step, stage);
  const next = [...box.querySelectorAll("[data-fastener]")].map((one) => Number(one.dataset.fastener))
    .find((number) => !done.includes(number));
  for (const bolt of box.querySelectorAll("[data-fastener]")) {
    const number = Number(bolt.dataset.fastener);
    bolt.dataset.state = done.includes(number) ? "ticked" : number === next ? "next" : "open";
  }
  box.querySelector("[data-done]").textContent = String(done.length);
  box.querySelector("[data-next]").textContent = next ?? "";
  box.querySelector("[data-stage-open]").hidden = !next;
  tellWhere(box, [...ticked[step]].filter(([place]) => place.startsWith(`${stage}/`)).map(([, one]) => one));
  panel.querySelector(`[data-show-stage="${stage}"] [data-stage-done]`).hidden = Boolean(next);
}

function show() {
  document.querySelectorAll(".step[data-step]").forEach(showRow);
  for (const panel of document.querySelectorAll("[data-joint]")) {
    for (const box of panel.querySelectorAll("[data-stage]")) showStage(panel, box);
  }
  const missing = Object.keys(known).filter((step) => known[step].required && !isDone(step)).length;
  const told = document.querySelector("[data-steps-missing]");
  if (!told) return;
  told.hidden = !missing;
  told.querySelector("[data-missing]").textContent = String(missing);
}

function turnTo(panel, stage) {
  for (const box of panel.querySelectorAll("[data-stage]")) box.hidden = Number(box.dataset.stage) !== stage;
  for (const button of panel.querySelectorAll("[data-show-stage]")) {
    if (Number(button.dataset.showStage) === stage) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  }
}

// -- ticking -------------------------------------------------------------------------------------------------

async function tick(content, words) {
  const place = placeOf(content).join(" ");
  if (going.has(place)) return;
  going.add(place);
  try {
    const who = await whoWorks();
    await waitForKey(who);
    showLogged(await addEntry({ who, kind: "tick", job, content: { ...content, what: words }, words }));
    await look();
    drain();
  } catch (error) {
    showTrouble(error);
  } finally {
    going.delete(place);
  }
}

// A question of the page; resolves to what was pressed, nothing when it was closed.
function asked(which, title) {
  ask.querySelector("[data-ask-title]").textContent = title;
  for (const part of ask.querySelectorAll("[data-ask]")) part.hidden = part.dataset.ask !== which;
  ask.returnValue = "";
  ask.showModal();
  return new Promise((done) => ask.addEventListener("close", () => done(ask.returnValue), { once: true }));
}

async function tickFastener(box, fastener) {
  const panel = box.closest("[data-joint]");
  const [step, stage] = [panel.dataset.joint, Number(box.dataset.stage)];
  const joint = panel.querySelector("h2").textContent.trim();
  const title = `${joint}, ${box.querySelector("h3").textContent.trim()}${fastener ? `: ${fastener}` : ""}`;
  const isEarly = stage > 1 && !isWhole(step, stage - 1);
  if (isEarly && (await asked("early", title)) !== "yes") return;
  if (!fastener && !isEarly && (await asked("whole", title)) !== "yes") return;
  await tick({ step, stage: String(stage), fastener: fastener ? String(fastener) : "" }, title);
  if (isWhole(step, stage) && known[step].stages[stage] !== undefined && !isWhole(step, stage + 1)) turnTo(panel, stage + 1);
}

async function takeBack(box, fastener) {
  const panel = box.closest("[data-joint]");
  const [step, stage] = [panel.dataset.joint, Number(box.dataset.stage)];
  const one = ticked[step].get(nameOf(stage, fastener)) ?? ticked[step].get(nameOf(stage, 0));
  const title = `${panel.querySelector("h2").textContent.trim()}: ${fastener}`;
  const answer = await asked(one.entry ? "undo" : "stays", title);
  if (answer !== "undo") return;
  await undo(one.entry.id, { who: await whoWorks(), words: "" }).catch(showTrouble);
  drain();
}

function press({ target }) {
  const box = target.closest("[data-stage]");
  const bolt = target.closest("[data-fastener]");
  const button = target.closest("[data-tick]");
  const turn = target.closest("[data-show-stage]");
  if (turn) turnTo(turn.closest("[data-joint]"), Number(turn.dataset.showStage));
  else if (bolt && box && bolt.dataset.state === "ticked") takeBack(box, Number(bolt.dataset.fastener));
  else if (bolt && box) tickFastener(box, Number(bolt.dataset.fastener));
  else if (button && box) {
    tickFastener(box, button.dataset.tick === "next" ? Number(box.querySelector("[data-next]").textContent) : 0);
  } else if (button) {
    const row = button.closest("[data-step]");
    const words = row.querySelector("[data-step-words]").textContent.trim();
    tick({ step: row.dataset.step, stage: "", fastener: "" }, words);
  }
}

if (ask) {
  document.addEventListener("click", press);
  document.addEventListener("bench-changed", look);
  look();
}
