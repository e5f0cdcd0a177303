/**
 * Readings over a sliding stretch of time, and what to do when the glass has
 * slipped from the media clock.
 *
 * A picture can only appear at a refresh of the screen, 17 ms apart at 60 Hz,
 * so the glass is early or late by up to half of that, whatever the clock does.
 * Where a picture lasts a whole number of refreshes, Chromium moreover keeps
 * showing it for exactly so many, and lets the glass slip by a picture's half
 * for it. As long as the rate is a little off, it does not, and takes the
 * nearest refresh (found by trial with Chromium 156). So when the glass has
 * slipped further than a refresh explains, the media clock *leans*: it moves
 * slowly, one way, until the pictures change to the next refresh, and stays
 * there.
 *
 * Not here: trimming the media clock itself (regulator.js).
 */

/** Readings this old say something about now. */
const KEPT_US = 700000;
/** The glass has slipped: more than half a refresh at 60 Hz, 8.3 ms, and what readings scatter by. */
const SLIPPED_US = 8800;
/** A lean is over when it is back inside this. */
const BACK_US = 8500;
/** So many pictures say it has slipped, and so many that it is back. */
const SLIPPED_PICTURES = 15;
const BACK_PICTURES = 5;
/** What a lean adds to the rate: enough that no whole number of refreshes fits any more, too little to be seen. */
export const LEAN = 0.006;
/** The media clock leans no further than this from where it should be. */
const MOST_US = 14000;
/** Between two leans; doubles up to sixteen times this while they do not help. */
const REST_US = 2000000;
/** A lean that has not got there by then is let go. */
const LONGEST_US = 4000000;

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

  /** The middle one of the last few. @param {number} count */
  recent(count) {
    const last = this.list.slice(-count).map(function (one) { return one.value; }).sort(function (a, b) { return a - b; });
    return last[Math.floor(last.length / 2)];
  }
}

export class Slip {
  constructor() {
    /** Where the media clock is held on purpose: an error that is wanted. */
    this.offsetUs = 0;
    /** Which way the clock leans: 1 sooner, -1 later, 0 not at all. */
    this.way = 0;
    this.atUs = -Infinity;
    this.inVain = 0;
    /** How many there were. */
    this.leans = 0;
  }

  /**
   * What to add to the rate.
   * @param {Readings} pictures errors of the pictures on the glass
   * @param {number} clockUs the media clock's own error
   * @param {number} nowUs
   * @returns {number}
   */
  look(pictures, clockUs, nowUs) {
    if (this.way !== 0) {
      this.follow(pictures, clockUs, nowUs);
    } else if (pictures.count >= SLIPPED_PICTURES) {
      const slip = pictures.middle();
      if (Math.abs(slip) < SLIPPED_US) {
        this.inVain = 0;
      } else if (nowUs - this.atUs > REST_US * Math.pow(2, Math.min(4, this.inVain))) {
        this.way = slip > 0 ? 1 : -1;
        this.atUs = nowUs;
        this.leans += 1;
        this.inVain += 1;
      }
    }
    return this.way * LEAN;
  }

  /** @param {Readings} pictures @param {number} clockUs @param {number} nowUs */
  follow(pictures, clockUs, nowUs) {
    const back = pictures.count >= BACK_PICTURES && this.way * pictures.recent(BACK_PICTURES) < BACK_US;
    // A clock that started off on the far side may lean all the way across.
    const far = -this.way * clockUs > MOST_US;
    if (back || far || nowUs - this.atUs > LONGEST_US) {
      this.way = 0;
      this.offsetUs = back ? clockUs : 0;
      this.atUs = nowUs;
    }
  }

  /** A seek begins: the glass is chosen anew. */
  drop() {
    this.offsetUs = 0;
    this.way = 0;
    this.atUs = -Infinity;
    this.inVain = 0;
  }
}
