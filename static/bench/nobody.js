// On the page that stands where nothing is kept: whoever gave a PIN here lately may go on with their own pages.

import { freshNames } from "./signing.js";
import { keepFact } from "./store.js";

async function goOn(row) {
  await keepFact("who", { person: row.person, name: row.name, stay: row.stay, by: "name" });
  const cache = await caches.open("bench-who");
  await cache.put("/bench/", new Response(String(row.person)));
  location.assign("/bench/");
}

function itemOf(row) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button";
  button.textContent = row.name;
  button.addEventListener("click", () => goOn(row));
  const item = document.createElement("li");
  item.append(button);
  return item;
}

const rows = await freshNames();
document.querySelector("#names ul").replaceChildren(...rows.map(itemOf));
document.getElementById("names").hidden = rows.length === 0;
window.addEventListener("online", () => location.reload());
