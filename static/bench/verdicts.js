// The verdict on a reading while there is no network: the same as calc/verdicts.py gives, from the limits in the
// page. One table of cases (tests/calc/verdict_cases.json) holds both to the same answers.

const NOISE = 1e-9;
const WET_RISE = 0.1;
const RPM_PER_INCH = 200;
const LEAK_BANDS = [[10, "leak_good"], [20, "leak_serviceable"], [30, "leak_worn"], [Infinity, "leak_overhaul"]];
const BY_WEIGHT = ["no_limit", "in_limits", "at_edge", "out_of_limits"];
const ALONE = "0";

/**
 * What a reading says.
 * @param reading {kind, unit, point, warmth, minutes, figures: {"0" or cylinder: [value, second]}}
 * @param book what the page holds of the spec book (queries/limits_in_force.py, JobLimits)
 * @returns {verdict, figures: {number: verdict}, said: [[finding, cylinder, figure]], limit}
 */
export function judged(reading, book) {
  const kind = book.kinds.find((one) => one.kind === reading.kind);
  const limit = kind && fitting(kind.limits, reading.point || "", reading.warmth || "");
  const allowed = (limit && limit.by_unit[reading.unit || ""]) || {};
  const way = WAYS[reading.kind] || figure;
  return { ...way(reading, allowed), limit: limit ? limit.words : "" };
}

/** The sentence of a verdict, as the shop will write it down; `verdicts` are the words of each verdict. */
export function words(found, book, { verdicts, unit, locale }) {
  const said = found.said.map(([finding, cylinder, value]) => {
    const most = book.decimals[finding] ?? book.usual_decimals;
    const digits = value !== null && Number.isInteger(Number(value.toFixed(most))) ? 0 : most;
    const shown = value === null ? "" : new Intl.NumberFormat(locale.replace("_", "-"), {
      minimumFractionDigits: digits, maximumFractionDigits: digits,
    }).format(value);
    return book.sentences[finding].replace("{figure}", shown).replace("{cylinder}", cylinder).replace("{unit}", unit);
  });
  return [verdicts[found.verdict], ...said].join("; ");
}

/** The limit that fits best: of the same place before one for wherever, then of the same warmth; or nothing. */
export function fitting(limits, point, warmth) {
  const where = folded(point);
  const fits = limits.filter((one) => ["", where].includes(folded(one.point)) && ["", warmth].includes(one.warmth));
  const weight = (one) => 2 * (folded(one.point) === where && where !== "") + (one.warmth === warmth && warmth !== "");
  // a sort keeps the order of those that weigh the same
  return [...fits].sort((one, other) => weight(other) - weight(one))[0] || null;
}

function folded(text) {
  return text.trim().split(/\s+/).join(" ").toLowerCase();
}

function against(value, bounds) {
  if (!bounds) return "no_limit";
  const sides = [[bounds.minimum, bounds.low_edge, 1], [bounds.maximum, bounds.high_edge, -1]]
    .filter(([bound]) => bound !== null);
  const noise = (bound) => NOISE * Math.max(1, Math.abs(bound));
  if (sides.some(([bound, , sign]) => (value - bound) * sign < -noise(bound))) return "out_of_limits";
  if (sides.some(([bound, edge, sign]) => (value - edge) * sign < -noise(bound))) return "at_edge";
  return "in_limits";
}

function worst(verdicts) {
  return BY_WEIGHT[Math.max(0, ...verdicts.map((one) => BY_WEIGHT.indexOf(one)))];
}

function each(reading, judge) {
  const entries = Object.entries(reading.figures).map(([number, pair]) => [number, judge(pair, number)]);
  return Object.fromEntries(entries);
}

function alone(verdict, said = []) {
  return { verdict, figures: { [ALONE]: verdict }, said };
}

function figure(reading, allowed) {
  return alone(against(reading.figures[ALONE][0], allowed.bounds));
}

function compression(reading, allowed) {
  const figures = each(reading, ([value]) => against(value, allowed.bounds));
  const values = Object.values(reading.figures).map(([value]) => value);
  const highest = Math.max(...values);
  const said = [];
  let onSpread = "no_limit";
  if (values.length > 1 && highest > 0) {
    const spread = (highest - Math.min(...values)) / highest * 100;
    said.push(["spread", 0, spread]);
    onSpread = against(spread, allowed.spread);
  }
  for (const [number, [dry, wet]] of Object.entries(reading.figures)) {
    const rise = wet === undefined || wet === null ? 0 : wet - dry;
    if (rise > 0 && rise >= WET_RISE * dry * (1 - NOISE)) said.push(["rings", Number(number), null]);
  }
  return { verdict: worst([...Object.values(figures), onSpread]), figures, said };
}

function leakDown(reading, allowed) {
  const said = [];
  const figures = each(reading, ([supplied, held], number) => {
    const lost = (supplied - held) / supplied * 100;
    said.push([LEAK_BANDS.find(([top]) => lost <= top + NOISE)[1], Number(number), lost]);
    return against(lost, allowed.bounds);
  });
  return { verdict: worst(Object.values(figures)), figures, said };
}

function heldOverTime(reading, allowed) {
  const [start, end] = reading.figures[ALONE];
  const rate = (start - end) / reading.minutes;
  const said = [start - end < 0 ? ["rose", 0, null] : ["loss_a_minute", 0, rate]];
  const meant = allowed.minutes ?? null;
  if (meant !== null && reading.minutes < meant) said.push(["short", 0, meant]);
  return alone(against(rate, allowed.bounds), said);
}

function fluidLoss(reading, allowed) {
  const [lost, left] = reading.figures[ALONE];
  const rate = lost / (reading.minutes / 60);
  const said = [rate >= 0 ? ["loss_an_hour", 0, rate] : ["gain_an_hour", 0, -rate]];
  const least = allowed.least ?? null;
  let verdict = against(rate, allowed.bounds);
  if (left !== undefined && left !== null && least !== null) {
    if (left < least) {
      verdict = "out_of_limits";
      said.push(["below_minimum", 0, null]);
    } else if (rate > 0) {
      said.push(["hours_left", 0, (left - least) / rate]);
    }
  }
  return alone(verdict, said);
}

function fullThrottle(reading, allowed) {
  const [revs, pitch] = reading.figures[ALONE];
  const { bounds } = allowed;
  const found = figure(reading, allowed);
  if (!bounds || bounds.minimum === null || bounds.maximum === null || !pitch) return found;
  const inches = (revs - Math.min(Math.max(revs, bounds.minimum), bounds.maximum)) / RPM_PER_INCH;
  const whole = Math.ceil(Math.abs(inches) - NOISE) * (inches > 0 ? 1 : -1);
  const landsAt = revs - whole * RPM_PER_INCH;
  const isReached = bounds.minimum - NOISE <= landsAt && landsAt <= bounds.maximum + NOISE && pitch + whole > 0;
  if (isReached && whole) found.said.push([whole > 0 ? "more_pitch" : "less_pitch", 0, Math.abs(whole)]);
  return found;
}

const WAYS = {
  compression,
  leak_down: leakDown,
  gearcase_pressure: heldOverTime,
  gearcase_vacuum: heldOverTime,
  fluid_loss: fluidLoss,
  full_throttle: fullThrottle,
};
