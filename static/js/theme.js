// Colours, sizes and keys chosen on this device. Loaded before the style sheets, so that no page flashes.
(() => {
  const root = document.documentElement;
  const choices = ["theme", "density", "keys"];

  function stored(name) {
    // Storage may be shut off; the device's own setting then holds.
    try {
      return localStorage.getItem(`shop-${name}`) ?? "";
    } catch {
      return "";
    }
  }

  function store(name, value) {
    try {
      localStorage.setItem(`shop-${name}`, value);
    } catch {
      return;
    }
  }

  function apply(name, value) {
    if (value) root.dataset[name] = value;
    else delete root.dataset[name];
  }

  function showChosen() {
    for (const select of document.querySelectorAll("select[data-choice]")) {
      select.value = root.dataset[select.dataset.choice] ?? "";
    }
  }

  root.classList.add("js");
  for (const name of choices) apply(name, stored(name));
  document.addEventListener("DOMContentLoaded", showChosen);
  document.addEventListener("htmx:load", showChosen);
  document.addEventListener("change", (event) => {
    const name = event.target.dataset?.choice;
    if (!choices.includes(name)) return;
    store(name, event.target.value);
    apply(name, event.target.value);
  });
})();
