/**
 * Readings over a sliding stretch of time, and what to do when the glass has
 * slipped from the media clock.
 *
 * A picture can only appear at a refresh of the screen, 17 ms apart at 60 Hz.
 * Chromium likes to show each picture for the same number of refreshes, and
 * lets the glass slip by up to two of them for it. When the glass has slipped
 * by more than a refresh can explain, a short shake of the rate, there and
 * back, makes it choose anew (found by trial with Chromium 156; a smaller or
 * slower shake did not).
 *
 * Not here: trimming the media clock itself (regulator.js).
 */

/** Readings this old say something about now. */
const KEPT_US = 700000;
/** The glass has slipped: more than half a refresh at 60 Hz, 8.3 ms, and a little that a shake cannot take away. */
const SLIPPED_US = 10500;
/** So many pictures in a row say it. */
const SLIPPED_PICTURES = 15;
/** A shake moves the media clock by this, there and back. */
export const SHAKE_US = 8500;
/** Between two shakes; doubles up to eight times this while they do not help. */
const REST_US = 3000000;
/** After so many in vain a seek in place is better: it always lands well, and holds a picture for some 40 ms. */
const IN_VAIN = 2;
const SEEK_REST_US = 30000000;
/** A shake that has not got there by then is let go. */
const LONGEST_US = 1000000;

/** Readings of an error, oldest first. */
export class Readings {
  constructor() {
    /** @type {{atUs: number, value: number}[]} */
    this.list = [];
  }

  get count() {
    return this.list.length;
  }

  /** @param {number} atUs @param {number} value */
  add(atUs, value) {
    this.list.push({ atUs: atUs, value: value });
    this.forget(atUs);
  }

  /** Leaves out what is too old. @param {number} nowUs */
  forget(nowUs) {
    while (this.list.length > 0 && this.list[0].atUs < nowUs - KEPT_US) {
      this.list.shift();
    }
  }

  clear() {
    this.list = [];
  }

  /**
   * The mean of the middle half: as deaf to outliers as a median, and finer
   * where a screen's refresh lets errors take only a few values. Asked only
   * when there is at least one.
   */
  middle() {
    const sorted = this.list.map(function (one) { return one.value; }).sort(function (a, b) { return a - b; });
    const cut = Math.floor(sorted.length / 4);
    const kept = sorted.slice(cut, sorted.length - cut);
    return kept.reduce(function (sum, v) { return sum + v; }, 0) / kept.length;
  }
}

export class Slip {
  constructor() {
    /** Where a shake pushes the media clock to; 0: no shake. */
    this.pushUs = 0;
    this.atUs = -Infinity;
    this.inVain = 0;
    this.soughtAtUs = -Infinity;
    /** How many there were. */
    this.shakes = 0;
  }

  /** Whether a shake, out or back, may still be under way. @param {number} nowUs */
  recent(nowUs) {
    return nowUs - this.atUs < LONGEST_US;
  }

  /**
   * The outward half ends where it should, or after too long.
   * @param {number} leftUs what is left to trim
   * @param {number} nearUs what counts as nothing
   * @param {number} nowUs
   */
  follow(leftUs, nearUs, nowUs) {
    if (this.pushUs !== 0 && (Math.abs(leftUs) < nearUs || !this.recent(nowUs))) {
      this.pushUs = 0;
    }
  }

  /**
   * With the media clock where it should be: has the glass slipped?
   * @param {Readings} pictures errors of the pictures on the glass
   * @param {number} nowUs
   * @returns {boolean} whether to seek in place
   */
  look(pictures, nowUs) {
    if (this.pushUs !== 0 || pictures.count < SLIPPED_PICTURES) {
      return false;
    }
    const slip = pictures.middle();
    if (Math.abs(slip) < SLIPPED_US) {
      this.inVain = 0;
      return false;
    }
    if (this.inVain >= IN_VAIN && nowUs - this.atUs > REST_US && nowUs - this.soughtAtUs > SEEK_REST_US) {
      this.soughtAtUs = nowUs;
      return true;
    }
    if (nowUs - this.atUs > REST_US * Math.pow(2, Math.min(3, this.inVain))) {
      this.pushUs = slip > 0 ? SHAKE_US : -SHAKE_US;
      this.atUs = nowUs;
      this.inVain += 1;
      this.shakes += 1;
      pictures.clear();
    }
    return false;
  }

  /** A seek begins: whatever was, is over. */
  drop() {
    this.pushUs = 0;
    this.atUs = -Infinity;
    this.inVain = 0;
  }
}
