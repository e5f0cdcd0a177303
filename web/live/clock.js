/**
 * The server's capture clock, as this page knows it.
 *
 * Each question and answer gives four timestamps and from them an offset and
 * a delay (RFC 5905 §8). The exchange that was delayed least says most, so of
 * the last few the least delayed is believed, older ones a little less each
 * second because two quartz clocks drift apart.
 *
 * Not here: asking, sockets, `performance.now()`. Times come in as arguments,
 * in microseconds; the page's own clock never is the wall clock, which steps.
 */

/** How many exchanges are kept. At one a second that is eight seconds, in which even a poor clock drifts by 2 ms. */
const KEPT = 8;

/** How far two clocks may drift apart, as a share of the time gone by: twice what cheap quartz is sold for. */
const DRIFT = 200e-6;

/** A browser may round its clock to this; two intervals closer than it are not apart. */
const GRAIN_US = 1000;

/** How fast what we say moves towards what we believe: the regulator takes a jump for a late picture. */
const SLEW = 2e-3;

/** While the first, quick questions are answered nothing is on the glass yet, and a jump hurts nobody. */
const OPENING_US = 1000000;

/**
 * @typedef {object} Exchange four timestamps, in microseconds
 * @property {number} t1 the question left, page's clock
 * @property {number} t2 the question was read, server's clock
 * @property {number} t3 the answer was written, server's clock
 * @property {number} t4 the answer arrived, page's clock
 */

/**
 * Offset and delay of one exchange.
 * @param {Exchange} e
 * @returns {{offset: number, delay: number}} in the unit of the timestamps
 */
export function offsetAndDelay(e) {
  return {
    offset: ((e.t2 - e.t1) + (e.t3 - e.t4)) / 2,
    delay: (e.t4 - e.t1) - (e.t3 - e.t2),
  };
}

export class ServerClock {
  constructor() {
    /** @type {{atUs: number, offset: number, delay: number}[]} */
    this.kept = [];
    /** What is believed. */
    this.believedUs = 0;
    /** What is said at `saidAtUs`. */
    this.saidUs = 0;
    this.saidAtUs = 0;
    this.openedUs = 0;
    /** How often everything was replaced, because this device or the server slept. */
    this.replaced = 0;
  }

  /** Whether there is anything to go by. */
  get known() {
    return this.kept.length > 0;
  }

  /**
   * One more answered question.
   * @param {Exchange} exchange
   */
  add(exchange) {
    const { offset, delay } = offsetAndDelay(exchange);
    if (!isFinite(offset) || !isFinite(delay) || delay < -GRAIN_US) {
      return;
    }
    const one = { atUs: exchange.t4, offset: offset, delay: Math.max(0, delay) };
    const best = this.best(one.atUs);
    if (best === null) {
      this.startFrom(one);
      this.openedUs = one.atUs;
      return;
    }
    const apart = Math.abs(one.offset - best.offset);
    if (apart > reach(one, one.atUs) + reach(best, one.atUs) + GRAIN_US) {
      this.startFrom(one);
      this.replaced += 1;
      return;
    }
    this.saidUs = this.offsetUs(one.atUs);
    this.saidAtUs = one.atUs;
    this.kept.push(one);
    if (this.kept.length > KEPT) {
      this.kept.shift();
    }
    const now = this.best(one.atUs);
    this.believedUs = now === null ? one.offset : now.offset;
    if (one.atUs - this.openedUs < OPENING_US) {
      this.saidUs = this.believedUs;
    }
  }

  /** @param {{atUs: number, offset: number, delay: number}} one */
  startFrom(one) {
    this.kept = [one];
    this.believedUs = one.offset;
    this.saidUs = one.offset;
    this.saidAtUs = one.atUs;
  }

  /**
   * The exchange to believe: least delay, age counted against it.
   * @param {number} nowUs
   */
  best(nowUs) {
    /** @type {{atUs: number, offset: number, delay: number} | null} */
    let best = null;
    for (const one of this.kept) {
      if (best === null || reach(one, nowUs) < reach(best, nowUs)) {
        best = one;
      }
    }
    return best;
  }

  /**
   * Server's clock minus the page's. Moves smoothly, save after a sleep.
   * @param {number} nowUs the page's clock
   */
  offsetUs(nowUs) {
    const most = Math.max(0, nowUs - this.saidAtUs) * SLEW;
    const left = this.believedUs - this.saidUs;
    return this.saidUs + Math.max(-most, Math.min(most, left));
  }

  /**
   * The server's capture clock at a moment of the page's clock.
   * @param {number} pageUs
   */
  serverUs(pageUs) {
    return pageUs + this.offsetUs(pageUs);
  }

  /**
   * How far off the belief may be.
   * @param {number} nowUs
   */
  uncertaintyUs(nowUs) {
    const best = this.best(nowUs);
    return best === null ? Infinity : reach(best, nowUs);
  }
}

/**
 * Half the width of the interval the true offset lies in.
 * @param {{atUs: number, delay: number}} one
 * @param {number} nowUs
 */
function reach(one, nowUs) {
  return one.delay / 2 + Math.max(0, nowUs - one.atUs) * DRIFT;
}
