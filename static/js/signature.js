// A pad to sign on. Strokes go as JSON into the hidden input beside it, in a space 600 wide,
// and the server draws them; a picture made here would have to be trusted.
import SignaturePad from "../vendor/signature_pad/signature_pad.min.js";

const SPACE = 600;
const HEIGHT = 240;
const INK = "#12201D";
const started = new WeakSet();

const hundredth = (value) => Math.round(value * 100) / 100;

function scaled(groups, factor) {
  return groups.map((group) => ({
    ...group,
    points: group.points.map((point) => ({ ...point, x: point.x * factor, y: point.y * factor })),
  }));
}

function toText(pad, width) {
  const groups = scaled(pad.toData(), SPACE / width);
  if (!groups.length) return "";
  const start = groups[0].points[0].time;
  const strokes = groups.map((group) => ({
    points: group.points.map(({ x, y, time, pressure }) => ({
      x: hundredth(x), y: hundredth(y), time: time - start + 1, pressure: hundredth(pressure),
    })),
  }));
  return JSON.stringify({ width: SPACE, height: HEIGHT, strokes });
}

function fromText(text, width) {
  if (!text) return [];
  try {
    return scaled(JSON.parse(text).strokes, width / SPACE);
  } catch {
    return [];
  }
}

function fit(canvas, width) {
  const ratio = Math.max(window.devicePixelRatio || 1, 1);
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round((width * HEIGHT * ratio) / SPACE);
  canvas.getContext("2d").scale(ratio, ratio);
}

function start(box) {
  if (started.has(box)) return;
  started.add(box);
  const canvas = box.querySelector("canvas");
  const input = box.querySelector("input[type=hidden]");
  const pad = new SignaturePad(canvas, { penColor: INK, backgroundColor: "#FFFFFF" });
  let width = 0;

  function redraw() {
    // Scrolling on a tablet changes the height only, and must not wipe what was signed.
    if (!canvas.clientWidth || canvas.clientWidth === width) return;
    width = canvas.clientWidth;
    fit(canvas, width);
    pad.clear();
    pad.fromData(fromText(input.value, width));
  }

  pad.addEventListener("endStroke", () => { input.value = toText(pad, width); });
  box.querySelector("[data-pad-clear]").addEventListener("click", () => {
    pad.clear();
    input.value = "";
  });
  new ResizeObserver(redraw).observe(canvas);
  redraw();
}

function startWithin(part) {
  if (part.matches?.("[data-pad]")) start(part);
  part.querySelectorAll("[data-pad]").forEach(start);
}

startWithin(document);
document.addEventListener("htmx:load", (event) => startWithin(event.target));
