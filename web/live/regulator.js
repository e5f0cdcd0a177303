/**
 * Keeps the glass at "capture time plus delay": decides when to seek, when to
 * start, and when to play a few per cent faster or slower.
 *
 * It is told how the media clock stood ({@link Regulator#sample}), what was on
 * the glass when, where the browser says ({@link Regulator#picture}), and how
 * the player stands ({@link Regulator#step}), and answers with one thing to do.
 *
 * How it lands: a seek takes a device-dependent time, so it aims at the
 * picture that will be due once the seek is done, holds there, and plays on
 * exactly when that picture is due. A hole in the buffer is passed the same
 * way: the first picture after it starts when it is due, never sooner.
 *
 * How it trims: by the media clock, which can be read to a fraction of a
 * millisecond. A picture can only appear at a refresh of the screen, and
 * whoever steers by that chases a staircase; what the glass is for is in
 * slip.js. A sample is stored with how much had been trimmed by then, so that
 * a trim ends when it has done enough, not when the samples have noticed.
 *
 * Not here: the DOM, the server's clock, fetching. All times are microseconds
 * of the server's capture clock.
 */

import { Rates } from './rates.js';
import { Readings, Slip, slip } from './slip.js';

/** Fewer samples than this decide nothing: while settling, and else. */
const LEAST_SETTLING = 3;
const LEAST_STEADY = 10;
/** What was sampled this soon after a seek or a rate change was on its way before it. */
const DEAF_US = 100000;

/** A trim starts beyond this and ends below that: nothing here can be seen, and readings scatter by a tenth of it. */
const TRIM_BEYOND_US = 4000;
const TRIM_WITHIN_US = 500;
/** While the glass is off by more than a refresh explains, the clock is brought this near. */
const CLOSE_US = 800;

/** Most a rate may differ from 1: unseen, and in the second in which a seek settles. */
const GENTLE = 0.03;
const SETTLING = 0.15;
const SETTLE_US = 1000000;
/** An error beyond this is being seen already; it is worked off as if settling. */
const SEEN_US = 45000;
/** A correction is spread over about this long. */
const GENTLE_OVER_US = 500000;
const SETTLE_OVER_US = 250000;
/** Smaller trims are rounded away by some players. */
const LEAST_TRIM = 0.005;

/** Beyond this a seek is quicker than catching up at {@link SETTLING}, which would take some three seconds. */
const SEEK_BEYOND_US = 400000;
/** Just after a seek, another seek is quicker than that. */
const RESEEK_BEYOND_US = 130000;
/** Where rate changes make the device stall, only seeks are left, and each is seen. */
const SEEKS_ONLY_BEYOND_US = 150000;
/** Between two seeks for the same delay. */
const SEEK_REST_US = 600000;
/** A seek that has not landed after this is asked for again. */
const SEEK_LOST_US = 2000000;

/** A hole shorter than this is jumped at once. */
const SHORT_HOLE_US = 60000;
/** So near to the end of a stretch of buffer there is nothing left to show of it. */
const EDGE_US = 20000;
/** A stretch shorter than this is not worth starting on. */
const LEAST_AHEAD_US = 50000;

/** What a seek takes before the first one was measured, and what is believed of it. */
const SEEK_COST_US = 120000;
const LEAST_COST_US = 20000;
const MOST_COST_US = 900000;
/** Aimed beyond the expected cost, so that most seeks land just in time: one picture. */
const SEEK_MARGIN_US = 20000;
/** How much of a new measurement is believed; of the first, most. */
const LEARN = 0.35;
const LEARN_FIRST = 0.8;

/**
 * @typedef {{startUs: number, endUs: number}} Range a stretch of buffer
 *
 * @typedef {object} Standing how the player stands
 * @property {number} nowUs
 * @property {number} delayUs
 * @property {Range[]} ranges in order
 * @property {number} positionUs the media clock
 * @property {boolean} waiting it has nothing to play
 *
 * @typedef {{kind: 'seek', toUs: number} | {kind: 'play'} | {kind: 'rate', rate: number}} Action
 * `seek`: pause, set the rate to 1, and go to that capture time. `play`: start now. `rate`: from now on.
 */

export class Regulator {
  constructor() {
    /** @type {'idle' | 'landing' | 'running'} */
    this.phase = 'idle';
    /** Of the media clock: error plus what had been trimmed by then. */
    this.samples = new Readings();
    /** Of the glass: plain errors. */
    this.pictures = new Readings();
    this.slip = new Slip();
    this.rate = 1;
    this.rateAtUs = 0;
    /** Trimmed until `rateAtUs`, in microseconds of error taken away. */
    this.trimmed = 0;
    this.deafUntilUs = 0;
    this.startedAtUs = 0;
    /** @type {number | null} */
    this.delayUs = null;
    this.toUs = 0;
    this.soughtAtUs = -SEEK_REST_US;
    this.landed = false;
    this.seekCostUs = SEEK_COST_US;
    /** From "play" to the first picture moving, beyond what was expected. */
    this.startLagUs = 0;
    this.lagKnown = true;
    this.rates = new Rates();
    /** For a technician. */
    this.seeks = 0;
    this.trims = 0;
  }

  /**
   * The media clock stood at this capture time.
   * @param {number} captureUs
   * @param {number} atUs
   * @param {number} delayUs
   */
  sample(captureUs, atUs, delayUs) {
    if (this.phase === 'running' && atUs >= this.deafUntilUs && delayUs === this.delayUs) {
      this.samples.add(atUs, atUs - delayUs - captureUs + this.trimmedBy(atUs));
    }
  }

  /**
   * A picture was, or will be, on the glass.
   * @param {number} captureUs
   * @param {number} shownAtUs
   * @param {number} delayUs
   */
  picture(captureUs, shownAtUs, delayUs) {
    if (this.phase === 'running' && shownAtUs >= this.deafUntilUs && delayUs === this.delayUs) {
      this.pictures.add(shownAtUs, shownAtUs - delayUs - captureUs);
    }
  }

  /** The player has done the seek. @param {number} nowUs */
  seekDone(nowUs) {
    if (this.phase !== 'landing' || this.landed) {
      return;
    }
    this.landed = true;
    const cost = Math.min(MOST_COST_US, Math.max(LEAST_COST_US, nowUs - this.soughtAtUs));
    this.seekCostUs += (this.seeks > 1 ? LEARN : LEARN_FIRST) * (cost - this.seekCostUs);
  }

  /** The player ran out of something to play. @param {number} nowUs */
  stalled(nowUs) {
    this.rates.stalled(this.rateAtUs > this.startedAtUs ? nowUs - this.rateAtUs : Infinity);
    this.samples.clear();
  }

  /** The player was built anew: it stands nowhere. */
  reset() {
    this.phase = 'idle';
    this.samples.clear();
    this.soughtAtUs = -SEEK_REST_US;
  }

  /** @param {number} atUs */
  trimmedBy(atUs) {
    return this.trimmed + (this.rate - 1) * Math.max(0, atUs - this.rateAtUs);
  }

  /**
   * How far the media clock is from where it should be; positive is late.
   * `null` while too little was read.
   * @param {number} nowUs
   * @returns {number | null}
   */
  clockErrorUs(nowUs) {
    const settling = nowUs - this.startedAtUs < SETTLE_US;
    this.samples.forget(nowUs);
    if (this.samples.count < (settling ? LEAST_SETTLING : LEAST_STEADY)) {
      return null;
    }
    return this.samples.middle() - this.trimmedBy(nowUs);
  }

  /**
   * How far the glass is from where it should be, as well as this browser can
   * say; positive is late.
   * @param {number} nowUs
   * @returns {number | null}
   */
  errorUs(nowUs) {
    this.pictures.forget(nowUs);
    return this.pictures.count < LEAST_SETTLING ? this.clockErrorUs(nowUs) : this.pictures.middle();
  }

  /**
   * When to be asked next at the latest, so that something happens on time.
   * @param {number} nowUs
   * @returns {number | null}
   */
  nextUs(nowUs) {
    if (this.phase === 'landing' && this.landed && this.delayUs !== null) {
      return this.toUs + this.delayUs - this.startLagUs;
    }
    const error = this.rate === 1 ? null : this.clockErrorUs(nowUs);
    return error === null ? null : nowUs + Math.max(0, error / (this.rate - 1));
  }

  /**
   * @param {Standing} s
   * @returns {Action | null}
   */
  step(s) {
    const changed = this.delayUs !== null && this.delayUs !== s.delayUs;
    this.delayUs = s.delayUs;
    if (changed && this.phase !== 'idle') {
      this.samples.clear();
      this.phase = 'idle';
      this.soughtAtUs = -SEEK_REST_US;
    }
    if (this.phase !== 'idle') {
      const action = this.phase === 'landing' ? this.land(s) : this.run(s);
      if (/** @type {string} */ (this.phase) !== 'idle') {
        return action;
      }
    }
    return this.enter(s);
  }

  /**
   * Standing nowhere: go to what is due as soon as that is in the buffer.
   * @param {Standing} s
   * @returns {Action | null}
   */
  enter(s) {
    const aim = this.aim(s);
    const range = this.stretch(s, aim);
    if (range === undefined) {
      return null;
    }
    // Just past a beginning is the beginning: that picture must not be skipped.
    const toUs = aim - range.startUs < SHORT_HOLE_US ? range.startUs : aim;
    return this.seekTo(toUs, s.nowUs);
  }

  /** @param {number} toUs @param {number} nowUs @returns {Action} */
  seekTo(toUs, nowUs) {
    this.phase = 'landing';
    this.landed = false;
    this.toUs = toUs;
    this.soughtAtUs = nowUs;
    this.samples.clear();
    this.pictures.clear();
    this.rates.forget();
    this.seeks += 1;
    this.setRate(1, nowUs);
    return { kind: 'seek', toUs: toUs };
  }

  /** @param {Standing} s @returns {Action | null} */
  land(s) {
    if (!this.landed) {
      this.phase = s.nowUs - this.soughtAtUs > SEEK_LOST_US ? 'idle' : 'landing';
      return null;
    }
    if (s.nowUs < this.toUs + s.delayUs - this.startLagUs) {
      return null;
    }
    this.phase = 'running';
    this.startedAtUs = s.nowUs;
    this.deafUntilUs = s.nowUs + DEAF_US;
    // Only a start that could wait for its moment says how long a start takes.
    this.lagKnown = s.nowUs - (this.toUs + s.delayUs - this.startLagUs) > DEAF_US / 4;
    return { kind: 'play' };
  }

  /** @param {Standing} s @returns {Action | null} */
  run(s) {
    const target = s.nowUs - s.delayUs;
    if (this.atHole(s)) {
      this.phase = 'idle';
      return null;
    }
    const seen = this.clockErrorUs(s.nowUs);
    this.rates.read(this.samples.since(this.rateAtUs));
    // With nothing seen lately the media clock has to do.
    const error = seen === null && s.nowUs - this.startedAtUs > SETTLE_US ? target - s.positionUs : seen;
    if (error === null) {
      return null;
    }
    this.learnLag(seen);
    if (this.seekIsBetter(error, s)) {
      this.rates.look(error + this.trimmedBy(s.nowUs));
      this.phase = 'idle';
      return null;
    }
    if (seen === null) {
      return null;
    }
    // A slip may be the clock's doing in part: that part first.
    const slipped = slip(this.pictures);
    const beyond = slipped > 0 ? CLOSE_US : TRIM_BEYOND_US;
    const still = this.rate === 1 && Math.abs(seen) < beyond;
    const start = this.slip.look(still ? slipped : 0, s.nowUs, s.nowUs - this.startedAtUs);
    if (start && this.stretch(s, this.aim(s)) !== undefined) {
      this.phase = 'idle';
      return null;
    }
    return this.trim(seen, s.nowUs, beyond);
  }

  /** What the first look after a start says about how long a start takes. @param {number | null} seen */
  learnLag(seen) {
    if (!this.lagKnown && seen !== null) {
      this.lagKnown = true;
      this.startLagUs = Math.min(200000, Math.max(0, this.startLagUs + LEARN * seen));
    }
  }

  /**
   * The media clock stands at the end of a stretch, and there is a later one.
   * @param {Standing} s
   */
  atHole(s) {
    const p = s.positionUs;
    const inside = s.ranges.some(function (r) { return r.startUs <= p && p < r.endUs - EDGE_US; });
    const later = s.ranges.some(function (r) { return r.startUs > p; });
    return !inside && later && s.nowUs - this.startedAtUs > DEAF_US;
  }

  /** @param {number} error @param {Standing} s */
  seekIsBetter(error, s) {
    let beyond = this.rates.dear ? SEEKS_ONLY_BEYOND_US : SEEK_BEYOND_US;
    if (s.nowUs - this.soughtAtUs < SEEK_REST_US) {
      beyond = this.samples.count < LEAST_SETTLING ? Infinity : RESEEK_BEYOND_US;
    }
    return Math.abs(error) > beyond && this.stretch(s, this.aim(s)) !== undefined;
  }

  /** The stretch of buffer that holds what is due after a seek. @param {Standing} s @param {number} aim */
  stretch(s, aim) {
    return s.ranges.filter(function (r) { return r.startUs <= aim && r.endUs - aim > LEAST_AHEAD_US; })[0];
  }

  /** What is due after a seek. @param {Standing} s */
  aim(s) {
    return s.nowUs - s.delayUs + this.seekCostUs + SEEK_MARGIN_US;
  }

  /** @param {number} error @param {number} nowUs @param {number} beyond @returns {Action | null} */
  trim(error, nowUs, beyond) {
    if (this.rates.dear) {
      return this.setRate(1, nowUs);
    }
    const size = Math.abs(error);
    if (this.rate !== 1) {
      if (size < TRIM_WITHIN_US || (error > 0) !== (this.rate > 1)) {
        return this.setRate(1, nowUs);
      }
    } else if (size < beyond) {
      return null;
    } else {
      this.trims += 1;
    }
    const rate = 1 + this.trimRate(error, nowUs);
    // A trim keeps its rate unless it is far from what is wanted by now: each change costs the player something.
    return this.rate !== 1 && Math.abs(rate - this.rate) < 0.02 ? null : this.setRate(rate, nowUs);
  }

  /** @param {number} error @param {number} nowUs @returns {number} what to add to the rate of 1 */
  trimRate(error, nowUs) {
    const size = Math.abs(error);
    const way = error > 0 ? 1 : -1;
    const quick = nowUs - this.startedAtUs < SETTLE_US || size > SEEN_US;
    const wanted = size / (quick ? SETTLE_OVER_US : GENTLE_OVER_US);
    return way * Math.max(LEAST_TRIM, Math.min(quick ? SETTLING : GENTLE, wanted));
  }

  /** @param {number} rate @param {number} nowUs @returns {Action | null} */
  setRate(rate, nowUs) {
    if (rate === this.rate) {
      return null;
    }
    this.rates.changed(this.samples);
    this.trimmed = this.trimmedBy(nowUs);
    this.rate = rate;
    this.rateAtUs = nowUs;
    this.pictures.clear();
    this.deafUntilUs = Math.max(this.deafUntilUs, nowUs + DEAF_US);
    return { kind: 'rate', rate: rate };
  }
}
