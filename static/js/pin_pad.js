// The number pad types into the PIN's field; six digits are sent at once. Without it the field works as any other.

const LENGTH = 6;

function press(field, key) {
  if (key === "clear") field.value = "";
  else if (key === "back") field.value = field.value.slice(0, -1);
  else if (field.value.length < LENGTH) field.value += key;
}

document.addEventListener("click", (event) => {
  const key = event.target.closest("[data-digit]")?.dataset.digit;
  if (!key) return;
  const form = event.target.closest("form");
  const field = form.querySelector("[data-pin]");
  press(field, key);
  if (field.value.length === LENGTH) form.requestSubmit();
});

// until now a tap would have been lost without a word
document.documentElement.classList.add("has-pad");
