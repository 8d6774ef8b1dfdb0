// Entries: written once on the tablet, numbered without gaps, never changed, and kept until the shop has them.

import { keyOf, newId, signed } from "./signing.js";
import { fact, HOUR, store, tellAll, writing } from "./store.js";

const { device } = document.documentElement.dataset;
// what the shop has stays in the list for so long
const SHOWN_FOR = 24 * HOUR;
// what a customer signed is the shop's, and no longer the tablet's
const OVER_ONCE_RECEIVED = new Set(["signature"]);

async function next(facts) {
  const name = `sequence-${device}`;
  const sequence = ((await facts.get(name)) ?? 0) + 1;
  await facts.put(sequence, name);
  return sequence;
}

// what the tablet's clock and the shop's differ by, as last measured
async function wire(draft, sequence) {
  const { who, key, kind, job, content, offset, id, at } = draft;
  const said = who.person ? {} : { said_name: who.name };
  return JSON.stringify({
    id,
    device: Number(device),
    sequence,
    person: who.person,
    key: key?.key ?? null,
    kind,
    job,
    at: new Date(at).toISOString(),
    offset_ms: offset,
    content: { ...content, ...said },
  });
}

// The number and the entry are stored in one transaction; the signature needs the text, so it follows.
export async function addEntry({ who, kind, job, content, words, photo = null, undoes = null, about = null }) {
  const draft = { who, kind, job, content, id: newId(), at: Date.now() };
  draft.key = await keyOf(who.person);
  draft.offset = (await fact("offset")) ?? null;
  const tx = await writing(["entries", "facts"]);
  const entries = tx.objectStore("entries");
  const sequence = await next(tx.objectStore("facts"));
  const entry = {
    id: draft.id,
    device: Number(device),
    sequence,
    waiting: sequence,
    text: await wire(draft, sequence),
    signature: null,
    key: draft.key?.key ?? null,
    person: who.person,
    name: who.name,
    kind,
    job,
    words,
    photo,
    undoes,
    about,
    at: draft.at,
    outcome: "",
    reason: "",
  };
  await entries.put(entry);
  const undone = undoes && (await entries.get(undoes));
  if (undone) await entries.put({ ...undone, isUndone: true });
  await tx.done;
  tellAll();
  await sign(entry);
  return entry;
}

// Signed as soon as it is stored, while the key is certainly there; the sender signs what was cut off.
export async function sign(entry) {
  if (entry.signature !== null) return entry;
  const signature = await signed(entry.text, entry);
  const tx = await writing(["entries"]);
  const kept = await tx.store.get(entry.id);
  if (kept) await tx.store.put({ ...kept, signature });
  await tx.done;
  return { ...entry, signature };
}

export async function undo(id, { who, words }) {
  const entry = await (await store()).get("entries", id);
  if (!entry || entry.isUndone) return null;
  return addEntry({ who, kind: "undo", job: entry.job, content: { entry: id }, words, undoes: id });
}

export async function waiting() {
  return (await store()).getAllFromIndex("entries", "waiting");
}

export async function countWaiting() {
  return (await store()).countFromIndex("entries", "waiting");
}

// Newest first; the taking back of an entry shows on the entry itself.
export async function listed({ job = null } = {}) {
  const rows = await (await store()).getAll("entries");
  const shown = rows.filter((row) => row.kind !== "undo" && (job === null || row.job === job));
  return shown.sort((one, other) => other.at - one.at || other.sequence - one.sequence);
}

export const stateOf = (row) => (row.waiting !== undefined ? "waiting" : row.outcome === "review" ? "review" : "stored");

// Called with the marked answer of the shop: nothing else takes an entry out of the outbox.
export async function received(answers) {
  const tx = await writing(["entries"]);
  let count = 0;
  for (const { id, outcome, reason } of answers) {
    const row = await tx.store.get(id);
    if (!row || row.waiting === undefined) continue;
    delete row.waiting;
    const text = OVER_ONCE_RECEIVED.has(row.kind) ? "" : row.text;
    await tx.store.put({ ...row, text, outcome, reason, photo: null, receivedAt: Date.now() });
    count += 1;
  }
  await tx.done;
  if (count) tellAll();
  return count;
}

// What the shop has is forgotten after a day, or at once when its person signs out.
export async function forget({ person = null } = {}) {
  const tx = await writing(["entries"]);
  const oldest = Date.now() - SHOWN_FOR;
  for (const row of await tx.store.getAll()) {
    const isOver = person === null ? row.receivedAt < oldest : row.person === person;
    if (row.waiting === undefined && isOver) await tx.store.delete(row.id);
  }
  await tx.done;
}

// After its storage was cleared the tablet goes on counting where the shop saw it last.
export async function countFrom(sequence) {
  if (!Number.isInteger(sequence)) return;
  const tx = await writing(["facts"]);
  const name = `sequence-${device}`;
  if (((await tx.store.get(name)) ?? 0) < sequence) await tx.store.put(sequence, name);
  await tx.done;
}
