// Reads the code on a part's label with the tablet's camera. Loaded when somebody wants to scan.

const READ_EVERY = 120;
const LONGEST_SIDE = 640;
const LONGEST_NUMBER = 40;

async function ownReader() {
  if (!("BarcodeDetector" in globalThis)) return null;
  const formats = await BarcodeDetector.getSupportedFormats();
  if (!formats.includes("qr_code")) return null;
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  return async (video) => (await detector.detect(video))[0]?.rawValue ?? "";
}

// For tablets whose browser reads no codes by itself.
async function broughtReader() {
  await import("../vendor/jsqr/jsQR.js");
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  return async (video) => {
    const factor = Math.min(1, LONGEST_SIDE / Math.max(video.videoWidth, video.videoHeight));
    canvas.width = Math.round(video.videoWidth * factor);
    canvas.height = Math.round(video.videoHeight * factor);
    if (!canvas.width) return "";
    pen.drawImage(video, 0, 0, canvas.width, canvas.height);
    const { data, width, height } = pen.getImageData(0, 0, canvas.width, canvas.height);
    return globalThis.jsQR(data, width, height)?.data ?? "";
  };
}

// A label of the shop holds the address of the parts list, with the number in it; others hold a bare number.
export function numberIn(text) {
  try {
    const address = new URL(text);
    return (address.pathname.endsWith("/parts/") && address.searchParams.get("q")) || "";
  } catch {
    return text.trim().slice(0, LONGEST_NUMBER);
  }
}

async function firstNumber(video, dialog) {
  const read = (await ownReader()) ?? (await broughtReader());
  while (dialog.open) {
    const number = numberIn(await read(video));
    if (number) return number;
    await new Promise((resolve) => setTimeout(resolve, READ_EVERY));
  }
  return "";
}

// A number of the plan picks its line; any other is written into its field.
function fill(form, number) {
  const planned = [...form.querySelectorAll("[data-number]")].find((one) => one.dataset.number === number);
  if (planned) planned.checked = true;
  else form.elements.number.value = number;
  const changed = planned ?? form.elements.number;
  for (const kind of ["input", "change"]) changed.dispatchEvent(new Event(kind, { bubbles: true }));
}

export async function scan(form) {
  const dialog = document.getElementById("bench-scan");
  const video = dialog.querySelector("video");
  const trouble = dialog.querySelector("[data-scan-trouble]");
  trouble.hidden = true;
  dialog.showModal();
  let stream = null;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    video.srcObject = stream;
    await video.play();
    const number = await firstNumber(video, dialog);
    if (number) fill(form, number);
    dialog.close();
  } catch {
    trouble.hidden = false;
  } finally {
    for (const track of stream?.getTracks() ?? []) track.stop();
    video.srcObject = null;
  }
}
