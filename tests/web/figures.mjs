// Figures from a list of numbers. Not here: where they come from.

export function quantile(values, q) {
  if (values.length === 0) return NaN;
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))];
}

export const median = (values) => quantile(values, 0.5);

/** Random numbers in 0..1 that are the same for the same seed (mulberry32, from memory). */
export function randomFrom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Least-squares slope of y over x. */
export function slope(xs, ys) {
  const mx = xs.reduce((a, b) => a + b, 0) / xs.length;
  const my = ys.reduce((a, b) => a + b, 0) / ys.length;
  let over = 0;
  let under = 0;
  xs.forEach((x, i) => {
    over += (x - mx) * (ys[i] - my);
    under += (x - mx) ** 2;
  });
  return under === 0 ? 0 : over / under;
}

/** How exactly the delay was kept over one stretch of pictures. */
export function delayFigures(seen, delay_ms, from = 'stamp_ms') {
  const good = seen.filter((s) => s[from] !== null);
  const errors = good.map((s) => s.glass_ms - s[from] - delay_ms);
  const size = errors.map(Math.abs);
  const minutes = good.length > 1 ? (good[good.length - 1].glass_ms - good[0].glass_ms) / 60000 : 0;
  return {
    pictures: good.length,
    median_ms: median(errors),
    p95_ms: quantile(size, 0.95),
    p99_ms: quantile(size, 0.99),
    over_34_ms: size.filter((ms) => ms > 34).length,
    over_34_a_minute: minutes ? size.filter((ms) => ms > 34).length / minutes : 0,
    worst_ms: Math.max(...size),
    drift_ms_a_minute: slope(good.map((s) => s.glass_ms / 60000), errors),
  };
}

/** Off by more than this, a picture is not where it should be: two refreshes at 60 Hz, a hair above. */
const OFF_MS = 34;
/** As many outliers as a stretch may have and still be right. */
const OUTLIERS = 0.02;
/** A stretch shorter than this says nothing. */
const LEAST_PICTURES = 30;

/**
 * What a screen made of a fault, from the pictures on its glass.
 * `fault_ms` is when it set in, `good_ms` when input was good again; the first
 * good picture is due at `good_ms` and the delay.
 *
 * - `cut_ms`: how much of what was taken before the fault was never shown;
 * - `held_ms`: the longest that one of those pictures stood still;
 * - `back_ms`: how long after it was due the first good picture was shown;
 * - `right_ms`: from then until the delay was right and stayed so.
 */
export function faultFigures(seen, { fault_ms, good_ms, delay_ms }) {
  const shown = seen.filter((s) => !s.covered);
  const before = shown.filter((s) => s.stamp_ms < fault_ms);
  const after = shown.filter((s) => s.stamp_ms >= good_ms);
  const stood = before.slice(1).map((s, i) => s.glass_ms - before[i].glass_ms);
  const off = after.map((s) => Math.abs(s.glass_ms - s.stamp_ms - delay_ms) > OFF_MS);
  let right = NaN;
  let wrong = 0;
  for (let i = after.length - 1; i >= 0; i -= 1) {
    wrong += off[i] ? 1 : 0;
    const count = after.length - i;
    if (!off[i] && count >= LEAST_PICTURES && wrong <= count * OUTLIERS) right = after[i].glass_ms - after[0].glass_ms;
  }
  return {
    cut_ms: before.length ? fault_ms - Math.max(...before.map((s) => s.stamp_ms)) : NaN,
    held_ms: stood.length ? Math.max(...stood) : NaN,
    back_ms: after.length ? after[0].glass_ms - good_ms - delay_ms : NaN,
    right_ms: right,
  };
}
