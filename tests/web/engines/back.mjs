// When the late picture is back on a screen, judged by what a probe in the page
// saw of the glass. Not here: any clock, any browser.
//
// "Back" is not "on time": it moves, nothing covers it, and it is the late
// picture and not some other. How far it is from its delay is said beside.

import { median, quantile } from '../figures.mjs';

/** It counts from its first picture, once it has gone on for this long. */
const LASTS_MS = 2000;
/** A longer time without a new picture is a stop. */
const STOP_MS = 600;
/** So few pictures a second are not moving; a camera sends 30, a slow screen shows half. */
const LEAST_HZ = 8;
/** Further from its delay it is not the picture that was asked for. */
const ASTRAY_MS = 600;

/**
 * The first sample from which on the picture is there, or `null`.
 *
 * @param {{glass_ms: number, strip_ms: number | null, covered: boolean}[]} seen oldest first
 * @param {number} good_ms only what was taken after this counts
 * @param {number} delay_ms
 */
export function back(seen, good_ms, delay_ms) {
  let stretch = [];
  for (const one of seen) {
    // A strip that could not be read says nothing, neither good nor bad.
    if (one.strip_ms === null && !one.covered) continue;
    const last = stretch[stretch.length - 1];
    if (last !== undefined && one.strip_ms === last.strip_ms && !one.covered) continue;
    const late = one.glass_ms - one.strip_ms - delay_ms;
    const fits = !one.covered && one.strip_ms >= good_ms && Math.abs(late) <= ASTRAY_MS;
    const follows = last === undefined || (one.glass_ms - last.glass_ms <= STOP_MS && one.strip_ms > last.strip_ms);
    if (!fits) stretch = [];
    else if (follows) stretch.push(one);
    else stretch = [one];
    if (stretch.length > 0 && one.glass_ms - stretch[0].glass_ms >= LASTS_MS) {
      if (stretch.length >= (LEAST_HZ * LASTS_MS) / 1000) return stretch[0];
      stretch.shift();
    }
  }
  return null;
}

/** How far from the delay: the middle, and what 95 of 100 pictures stay within. */
export function offBy(seen, delay_ms) {
  // One that stands for two refreshes may be noted twice; it came with the first.
  const pictures = seen.filter((one) => one.strip_ms !== null).filter((one, i, all) => i === 0 || one.strip_ms !== all[i - 1].strip_ms);
  const off = pictures.map((one) => one.glass_ms - one.strip_ms - delay_ms);
  return { middle_ms: median(off), p95_ms: quantile(off.map(Math.abs), 0.95), pictures: off.length };
}
