// The shop gives a key with each PIN. It signs what its person logs, and no script can read it back.

import { LONGEST, store } from "./store.js";

const HMAC = { name: "HMAC", hash: "SHA-256" };
const utf8 = new TextEncoder();
// without HTTPS browsers neither sign nor keep pages; then entries go to the desk's list
export const CAN_SIGN = Boolean(globalThis.crypto?.subtle);

export const hex = (buffer) => [...new Uint8Array(buffer)].map((one) => one.toString(16).padStart(2, "0")).join("");
const bytesOf = (base64) => Uint8Array.from(atob(base64), (char) => char.charCodeAt(0));

export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const text = hex(bytes);
  return [text.slice(0, 8), text.slice(8, 12), text.slice(12, 16), text.slice(16, 20), text.slice(20)].join("-");
}

export const isFresh = (row) => Date.now() - row.issuedAt < LONGEST && row.issuedAt <= Date.now() + LONGEST;

export async function keyOf(person) {
  const row = person && (await (await store()).get("keys", person));
  return row && isFresh(row) ? row : null;
}

// Whoever gave a PIN here in the last twelve hours, by name.
export async function freshNames() {
  const rows = await (await store()).getAll("keys");
  return rows.filter(isFresh).sort((one, other) => one.name.localeCompare(other.name));
}

export async function keepKey(told, { stay }) {
  const secret = CAN_SIGN
    ? await crypto.subtle.importKey("raw", bytesOf(told.secret), HMAC, false, ["sign"])
    : null;
  const row = { person: told.person, name: told.name, key: told.key, secret, stay, issuedAt: Date.now() };
  await (await store()).put("keys", row);
}

export async function forgetOldKeys() {
  const db = await store();
  const old = (await db.getAll("keys")).filter((row) => !isFresh(row));
  await Promise.all(old.map((row) => db.delete("keys", row.person)));
  return old.map((row) => row.person);
}

// The signature of exactly this text, or none where there is no key any more.
export async function signed(text, { person, key }) {
  const row = await keyOf(person);
  if (!row?.secret || row.key !== key) return "";
  return hex(await crypto.subtle.sign("HMAC", row.secret, utf8.encode(text)));
}

export async function sha256(buffer) {
  return CAN_SIGN ? hex(await crypto.subtle.digest("SHA-256", buffer)) : "";
}
