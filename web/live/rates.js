/**
 * Whether this device can bear changes of the playback rate.
 *
 * Most only take hold of a new rate. Some stop for a moment to fetch more; some
 * (WebKitGTK, found by trial with 2.50) flush their pipeline at every change
 * and say nothing of it: the media clock then stands or jumps by some tens of
 * milliseconds, more than the change was to mend, and the next change follows.
 * On such a device the rate is better left alone.
 *
 * Not here: choosing a rate (regulator.js).
 */

/**
 * A change that leaves the clock this far off was dear. Where rates are borne it
 * is 2 ms at most, where not, 60 ms and more (found by trial with Chromium 78
 * and 156, Firefox 153 and WebKitGTK 2.50).
 */
const DEAR_US = 25000;
/** So often in a row: once may be anything. */
const DEAR_TIMES = 3;
/** A player that stops this soon after a change stops because of it. */
const STALL_WITHIN_US = 1000000;
const STALL_TIMES = 2;
/** Fewer readings say nothing. */
const LEAST_READINGS = 3;

export class Rates {
  constructor() {
    /** Rates are to be left alone. */
    this.dear = false;
    this.stalls = 0;
    this.inRow = 0;
    /** The error before the changes not yet looked at. @type {number | null} */
    this.beforeUs = null;
  }

  /**
   * The rate changes now.
   * @param {import('./slip.js').Readings} before errors of the media clock until now, trims left out
   */
  changed(before) {
    if (this.beforeUs === null && before.count >= LEAST_READINGS) {
      this.beforeUs = before.middle();
    }
  }

  /** @param {import('./slip.js').Readings} since the same since the last change */
  read(since) {
    if (since.count >= LEAST_READINGS) {
      this.look(since.middle());
    }
  }

  /** Nothing before this moment can be compared with what comes. */
  forget() {
    this.beforeUs = null;
  }

  /**
   * What the media clock shows after the changes.
   * @param {number} errorUs trims left out
   */
  look(errorUs) {
    if (this.beforeUs === null) {
      return;
    }
    this.inRow = Math.abs(errorUs - this.beforeUs) > DEAR_US ? this.inRow + 1 : 0;
    this.dear = this.dear || this.inRow >= DEAR_TIMES;
    this.beforeUs = null;
  }

  /** The player ran out of something to play. @param {number} sinceChangeUs */
  stalled(sinceChangeUs) {
    this.forget();
    if (sinceChangeUs < STALL_WITHIN_US) {
      this.stalls += 1;
      this.dear = this.dear || this.stalls >= STALL_TIMES;
    }
  }
}
