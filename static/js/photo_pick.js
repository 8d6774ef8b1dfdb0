// Photos are made smaller before they are sent, and shown. Without this the form sends them as they are.

const LONGEST = 1600;
const PREVIEW = 160;

function draw(bitmap, longest) {
  const factor = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(bitmap.width * factor);
  canvas.height = Math.round(bitmap.height * factor);
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  return canvas;
}

function asJpeg(canvas, name) {
  const renamed = name.replace(/\.[^.]*$/, "") + ".jpg";
  return new Promise((resolve) => {
    canvas.toBlob((blob) => resolve(blob && new File([blob], renamed, { type: "image/jpeg" })), "image/jpeg", 0.85);
  });
}

function shelfOf(input) {
  const next = input.nextElementSibling;
  if (next?.matches(".photo-previews")) return next;
  const shelf = document.createElement("div");
  shelf.className = "photo-previews";
  input.after(shelf);
  return shelf;
}

async function shrink(file, shelf) {
  let bitmap;
  try {
    bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    return file; // a kind this browser cannot open; the server may
  }
  const small = draw(bitmap, PREVIEW);
  small.setAttribute("role", "img");
  small.setAttribute("aria-label", file.name);
  shelf.append(small);
  const smaller = await asJpeg(draw(bitmap, LONGEST), file.name);
  bitmap.close();
  return smaller && smaller.size < file.size ? smaller : file;
}

async function prepare(input) {
  const picked = [...input.files];
  const shelf = shelfOf(input);
  shelf.replaceChildren();
  const kept = new DataTransfer();
  document.dispatchEvent(new Event("shop:preparing"));
  // One at a time: a tablet runs out of memory with several open photos.
  for (const file of picked) kept.items.add(await shrink(file, shelf));
  document.dispatchEvent(new Event("shop:prepared"));
  const unchanged = input.files.length === picked.length && picked.every((file, at) => file === input.files[at]);
  if (unchanged) input.files = kept.files;
}

document.addEventListener("change", (event) => {
  if (event.target.matches("input[type=file][data-photo-pick]")) prepare(event.target);
});
