/**
 * Readings over a sliding stretch of time, and whether the glass has slipped
 * from the media clock.
 *
 * A picture can only appear at a refresh of the screen, 17 ms apart at 60 Hz,
 * so the glass is early or late by up to half of that, whatever the clock does.
 * Chromium moreover gives a video of 30 pictures a second only every other
 * refresh, the odd ones or the even ones from its start on, and then holds to
 * them while the clock moves by a picture and more (found by trial with
 * Chromium 156: neither a lean of the rate nor other movement on the page makes
 * it choose anew). So where the glass is off by more than half a refresh, only a
 * new start helps: a seek to where the clock stands, which holds one picture
 * for a moment.
 *
 * Not here: trimming the media clock itself (regulator.js).
 */

/** Readings this old say something about now. */
const KEPT_US = 700000;
/** The glass has slipped: more than half a refresh at 60 Hz, 8.3 ms, and what readings scatter by. */
const SLIPPED_US = 9200;
/** So many pictures say it. */
const SLIPPED_PICTURES = 12;
/** In the seconds after a start it is acted on at once; later it has to last, for a new start is seen. */
const FRESH_US = 5000000;
const LASTS_US = 4000000;
/** Off by this much it is seen more than a new start is. */
const BAD_US = 14000;
/** Between two new starts: soon while a start has just been made, as it is seen anyway, then more and more rarely. */
const REST_US = [800000, 1200000, 2000000, 10000000, 30000000, 60000000];

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

  /** Those from then on. @param {number} fromUs */
  since(fromUs) {
    const some = new Readings();
    some.list = this.list.filter(function (one) { return one.atUs >= fromUs; });
    return some;
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

/**
 * By how much the pictures on the glass say it has slipped; 0 if they do not.
 * @param {Readings} pictures
 */
export function slip(pictures) {
  const size = pictures.count >= SLIPPED_PICTURES ? Math.abs(pictures.middle()) : 0;
  return size > SLIPPED_US ? size : 0;
}

export class Slip {
  constructor() {
    this.atUs = -Infinity;
    /** Since when it has been slipped. @type {number | null} */
    this.sinceUs = null;
    /** New starts since the glass was last where it should be. */
    this.inVain = 0;
    /** How many there were. */
    this.starts = 0;
  }

  /**
   * Does the glass want a new start?
   * @param {number} slipped by how much, although the media clock is where it should be
   * @param {number} nowUs
   * @param {number} runningUs since the last start
   * @returns {boolean}
   */
  look(slipped, nowUs, runningUs) {
    if (slipped === 0) {
      this.sinceUs = null;
      // Good for a while: whatever made it slip before is past.
      this.inVain = runningUs > FRESH_US ? 0 : this.inVain;
      return false;
    }
    this.sinceUs = this.sinceUs === null ? nowUs : this.sinceUs;
    const lasted = runningUs < FRESH_US || slipped > BAD_US || nowUs - this.sinceUs > LASTS_US;
    if (!lasted || nowUs - this.atUs < REST_US[Math.min(this.inVain, REST_US.length - 1)]) {
      return false;
    }
    this.atUs = nowUs;
    this.sinceUs = null;
    this.inVain += 1;
    this.starts += 1;
    return true;
  }
}
