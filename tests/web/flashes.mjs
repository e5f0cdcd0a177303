// Counts flashes in a sequence of pictures, as WCAG defines them.
//
// WCAG 2.2, success criterion 2.3.1 "Three Flashes or Below Threshold", and its
// definition "general flash and red flash thresholds" (w3.org/TR/WCAG22):
// a general flash is a pair of opposing changes in relative luminance of 10 % or
// more of the maximum where the darker picture is below 0.80; a red flash a pair
// of opposing transitions involving a saturated red, R/(R+G+B) ≥ 0.8, where
// (R−G−B)×320 changes by more than 20. At most three of either in any second, on a
// quarter of any 10° of the field of view: 341 × 256 px of 1024 × 768, a third
// of the screen each way.
//
// Stricter than that: which cells flash together does not have to be at the
// same time.
//
// Not here: taking the pictures.

const GENERAL = 0.1;
const DARKER = 0.8;
const RED = 20;
const SATURATED = 0.8;
const SECOND_MS = 1000;

/** sRGB to linear, by the same document's "relative luminance". */
const LINEAR = Array.from({ length: 256 }, (_, byte) => {
  const c = byte / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
});

/** What the two thresholds need of one colour. */
export function seen(red, green, blue) {
  const [r, g, b] = [LINEAR[red], LINEAR[green], LINEAR[blue]];
  const sum = r + g + b;
  return {
    luminance: 0.2126 * r + 0.7152 * g + 0.0722 * b,
    red: Math.max(0, (r - g - b) * 320),
    saturated: sum > 0 && r / sum >= SATURATED,
  };
}

/**
 * When one value changed by at least so much and turned round, over and over.
 * @param {[number, number][]} samples when, and how much
 * @param {number} least
 * @returns {[number, number, number][]} when a change was complete, from what to what
 */
export function changes(samples, least) {
  const found = [];
  let [low, high, way] = [samples[0][1], samples[0][1], 0];
  for (const [ms, value] of samples) {
    if (way >= 0 && value > high) {
      // The same change goes on.
      if (way > 0) found[found.length - 1][2] = value;
      high = value;
    }
    if (way <= 0 && value < low) {
      if (way < 0) found[found.length - 1][2] = value;
      low = value;
    }
    if (way >= 0 && value <= high - least) {
      found.push([ms, high, value]);
      [way, low] = [-1, value];
    } else if (way <= 0 && value >= low + least) {
      found.push([ms, low, value]);
      [way, high] = [1, value];
    }
  }
  return found;
}

/** The most pairs of changes in any second. */
export function pairsInASecond(times) {
  let most = 0;
  for (let first = 0, last = 0; last < times.length; last += 1) {
    while (times[last] - times[first] >= SECOND_MS) first += 1;
    most = Math.max(most, last - first + 1);
  }
  return Math.floor(most / 2);
}

/**
 * The most flashes in any second of one place on the screen.
 * @param {[number, ReturnType<typeof seen>][]} samples when, and what was seen there
 */
export function flashesAt(samples) {
  const general = changes(samples.map(([ms, one]) => [ms, one.luminance]), GENERAL)
    .filter(([, from, to]) => Math.min(from, to) < DARKER);
  const isRed = samples.some(([, one]) => one.saturated);
  const red = isRed ? changes(samples.map(([ms, one]) => [ms, one.saturated ? one.red : 0]), RED + 1e-9) : [];
  return Math.max(pairsInASecond(general.map(([ms]) => ms)), pairsInASecond(red.map(([ms]) => ms)));
}

/**
 * The most flashes in any second that a quarter of some third of the screen (each
 * way) has.
 * @param {{ms: number, pixels: Uint8ClampedArray | number[]}[]} frames four bytes a cell, row by row
 * @param {number} columns
 * @param {number} rows
 */
export function mostFlashes(frames, columns, rows) {
  const cells = Array.from({ length: columns * rows }, (_, cell) => flashesAt(frames.map(({ ms, pixels }) => [
    ms, seen(pixels[cell * 4], pixels[cell * 4 + 1], pixels[cell * 4 + 2]),
  ])));
  const [wide, high] = [Math.floor(columns / 3), Math.floor(rows / 3)];
  const quarter = Math.ceil(wide * high / 4);
  let most = 0;
  for (let top = 0; top + high <= rows; top += 1) {
    for (let left = 0; left + wide <= columns; left += 1) {
      const field = [];
      for (let row = top; row < top + high; row += 1) field.push(...cells.slice(row * columns + left, row * columns + left + wide));
      most = Math.max(most, field.sort((a, b) => b - a)[quarter - 1]);
    }
  }
  return most;
}
