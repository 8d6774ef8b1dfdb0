// Done for today: what the tablet kept for this person goes; what the shop has not got stays until it has.

import { dropDraftsOf } from "./drafts.js";
import { forgetPages } from "./kept_pages.js";
import { countWaiting, forget } from "./outbox.js";
import { drain } from "./sender.js";
import { store } from "./store.js";
import { forgetWho, whoWorks } from "./who.js";

async function wipe(person) {
  await forgetPages({ person });
  await dropDraftsOf(person);
  await forget({ person });
  await (await store()).delete("keys", person);
  await forgetWho();
}

// Once nobody's entries wait, nothing of the outbox is needed any more but the count.
async function wipeIfEmpty() {
  if (await countWaiting()) return;
  const db = await store();
  if (!(await db.count("keys"))) await db.clear("entries");
}

async function signOut(form) {
  const who = await whoWorks();
  await drain();
  await wipe(who.person ?? who.name);
  await wipeIfEmpty();
  if (document.documentElement.classList.contains("is-offline")) location.assign("/bench/");
  else form.submit();
}

// The owner ended the tablet: nothing of the shop stays on it but what the shop has not got.
export async function wipeStranger() {
  await forgetPages();
  const db = await store();
  await db.clear("keys");
  await db.clear("drafts");
  await forgetWho();
  await wipeIfEmpty();
}

export function keepSignOut() {
  const take = (event) => {
    if (!event.target.matches("[data-done-today]")) return;
    event.preventDefault();
    signOut(event.target);
  };
  document.addEventListener("submit", take, { capture: true });
}
