/**
 * Something that is only done when a button is held: a child's hand in passing
 * does nothing.
 *
 * Not here: the button.
 */

export const HOLD_MS = 3000;

export class Hold {
  constructor() {
    /** @type {number | null} */
    this.sinceMs = null;
  }

  /** Down; a key that repeats is still the same. @param {number} nowMs */
  down(nowMs) {
    if (this.sinceMs === null) {
      this.sinceMs = nowMs;
    }
  }

  up() {
    this.sinceMs = null;
  }

  /** How much of the time it was held, 0 to 1. @param {number} nowMs */
  share(nowMs) {
    return this.sinceMs === null ? 0 : Math.min(1, (nowMs - this.sinceMs) / HOLD_MS);
  }
}
