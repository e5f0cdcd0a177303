/**
 * The bars a screen shows while its station's camera is calibrated: the time, to
 * be read by whoever films it. The layout is in src/core/media/bars.rs.
 *
 * Not here: drawing them (screen.js), reading them (src/core/vision), clocks.
 */

/** Columns across the screen. */
export const ACROSS = 55;
/** Where the bars begin and end, as a share of the height. */
export const TOP = 0.06;
export const FOOT = 0.84;
/**
 * The least time between two changes: two a second are one flash a second, where
 * WCAG 2.2 (2.3.1) allows three.
 */
export const HOLD_MS = 500;

/** The light columns of the frame, and the strip's first cell. */
const FRAME = [2, 52];
const FIRST = 4;
const MARKER = [0, 2];
const TIME_BITS = 42;

/**
 * From one change to the next, on average and at the most apart from it. Evenly
 * scattered, so that changes fall on every part of a camera's pictures: with the
 * same distance each time a camera of thirty pictures a second would see all of
 * them equally late.
 */
const MEAN_MS = 550;
const SCATTER_MS = 100;
const GOLDEN = 0.618034;

/**
 * Which columns are light at this time.
 * @param {number} timeMs Unix milliseconds
 * @returns {boolean[]}
 */
export function columns(timeMs) {
  const light = [];
  for (let i = 0; i < ACROSS; i += 1) {
    light.push(FRAME.indexOf(i) >= 0 || MARKER.indexOf(i - FIRST) >= 0);
  }
  let parity = false;
  for (let bit = 0; bit < TIME_BITS; bit += 1) {
    // No shifts: they cut a number off at 32 bits.
    const one = Math.floor(timeMs / Math.pow(2, TIME_BITS - 1 - bit)) % 2 === 1;
    light[FIRST + 4 + bit] = one;
    parity = parity !== one;
  }
  light[FIRST + 4 + TIME_BITS] = parity;
  return light;
}

/** When the time on the screen is to change. */
export class Changes {
  constructor() {
    this.startMs = 0;
    this.number = 0;
    /** @type {number | null} */
    this.lastMs = null;
  }

  /**
   * Asked once a frame.
   * @param {number} frameMs the frame's time, on the page's clock
   * @returns {boolean} whether this frame is to show its own time
   */
  due(frameMs) {
    const dueMs = this.startMs + this.number * MEAN_MS + SCATTER_MS * ((this.number * GOLDEN) % 1);
    const asleep = frameMs - dueMs > MEAN_MS;
    if (this.lastMs === null || asleep) {
      this.startMs = frameMs;
      this.number = 0;
    } else if (frameMs < dueMs || frameMs - this.lastMs < HOLD_MS) {
      return false;
    }
    this.number += 1;
    this.lastMs = frameMs;
    return true;
  }
}

/** How long a frame stands, by the frames so far. */
export class Refresh {
  constructor() {
    /** @type {number[]} */
    this.apartMs = [];
    /** @type {number | null} */
    this.lastMs = null;
  }

  /**
   * @param {number} frameMs
   * @returns {number} milliseconds
   */
  frame(frameMs) {
    if (this.lastMs !== null) {
      this.apartMs.push(Math.max(1, Math.min(50, frameMs - this.lastMs)));
      this.apartMs = this.apartMs.slice(-15);
    }
    this.lastMs = frameMs;
    if (this.apartMs.length === 0) {
      return 1000 / 60;
    }
    const sorted = this.apartMs.slice().sort(function (a, b) { return a - b; });
    return sorted[Math.floor(sorted.length / 2)];
  }
}
