// What the tablet keeps by itself: entries until the shop has them, people's keys, half-typed values, and who works.

import { openDB } from "../vendor/idb/idb.js";

const NAME = "shop-bench";
export const HOUR = 60 * 60 * 1000;
// a key opens nothing after this, and nothing that was kept for its person is shown any more
export const LONGEST = 12 * HOUR;
let opening = null;

function build(db) {
  const entries = db.createObjectStore("entries", { keyPath: "id" });
  // only what the shop has not got carries "waiting": its sequence, so that it is sent in order
  entries.createIndex("waiting", "waiting");
  db.createObjectStore("keys", { keyPath: "person" });
  db.createObjectStore("drafts", { keyPath: "name" });
  db.createObjectStore("facts");
}

export function store() {
  opening ??= openDB(NAME, 1, {
    upgrade: build,
    blocking: async () => {
      (await opening).close();
      opening = null;
    },
    terminated: () => (opening = null),
  });
  return opening;
}

// On the disk before anything is shown as kept: a tablet that dies a moment later still has it.
export async function writing(stores) {
  return (await store()).transaction(stores, "readwrite", { durability: "strict" });
}

export async function fact(name) {
  return (await store()).get("facts", name);
}

export async function keepFact(name, value) {
  await (await store()).put("facts", value, name);
}

// -- telling every open page that something changed ------------------------------------------------------

const CHANGED = "bench-changed";

const hear = () => document.dispatchEvent(new Event(CHANGED));
window.addEventListener("storage", ({ key }) => key === CHANGED && hear());

export function tellAll() {
  hear();
  try {
    localStorage.setItem(CHANGED, String(Date.now()));
  } catch {
    return; // shut off: another page finds out when it is looked at
  }
}

// Two looks into the store may come back the other way round: the later one is shown, and waited for.
export function latest(read, show) {
  let newest = null;
  return () => {
    const mine = read().then((found) => (mine === newest ? show(found) : newest));
    newest = mine;
    return mine;
  };
}
