// A player that behaves as Chromium's does towards the regulator, in virtual
// time: seeks take a while, starts lag, rates take hold late, pictures appear
// only at a refresh, the buffer can end or have holes. Nothing here is random
// between runs.
import { Regulator } from '../../web/live/regulator.js';

/** A small generator with a seed, so that every run is the same. */
export function dice(seed) {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const MS = 1000;

export class Simulation {
  constructor(options = {}) {
    this.o = Object.assign({
      delayUs: 5e6, fps: 30, refreshHz: 60, drift: 0, jitterUs: 0, clockNoiseUs: 0, seekUs: [40 * MS, 110 * MS],
      startUs: [2 * MS, 9 * MS], rateLagUs: 15 * MS, seed: 1, aheadUs: 700 * MS, backUs: 4e6, rateStallUs: 0, rateFlushUs: 0, tier: 'a',
    }, options);
    this.roll = dice(this.o.seed);
    this.regulator = new Regulator();
    this.now = 1e12;
    this.began = this.now;
    this.pictureUs = 1e6 / this.o.fps;
    this.refreshAt = this.now + 3 * MS;
    this.position = 0;
    this.rate = 1;
    this.changes = [];
    this.playing = false;
    this.waiting = false;
    this.tickAt = this.now;
    this.nextAt = null;
    this.glass = -1;
    this.holes = [];
    this.cutUs = Infinity;
    /** What was seen: {at, error, rate, early}. */
    this.seen = [];
    this.actions = [];
  }

  /** Capture time of picture n, and its number at a capture time. */
  capture(n) {
    return Math.round(n * this.pictureUs + (this.o.jitterUs === 0 ? 0 : (Math.sin(n * 12.9898) * this.o.jitterUs)));
  }

  due() {
    return this.now - this.o.delayUs;
  }

  ranges() {
    const end = Math.min(this.due() + this.o.aheadUs, this.now - 60 * MS, this.cutUs);
    let ranges = [{ startUs: Math.max(this.began - 20e6, this.due() - this.o.backUs), endUs: end }];
    for (const h of this.holes) {
      ranges = ranges.flatMap((r) => [
        { startUs: r.startUs, endUs: Math.min(r.endUs, h.fromUs) }, { startUs: Math.max(r.startUs, h.toUs), endUs: r.endUs },
      ]).filter((r) => r.endUs > r.startUs);
    }
    return ranges;
  }

  /** What the page thinks the time is. */
  pageNow() {
    return this.now + this.o.clockNoiseUs * Math.sin((this.now - this.began) / 3e6);
  }

  step() {
    const action = this.regulator.step({
      nowUs: this.pageNow(), delayUs: this.o.delayUs, ranges: this.ranges(), positionUs: this.position, waiting: this.waiting,
    });
    if (action !== null) {
      this.perform(action);
    }
    this.nextAt = this.regulator.nextUs(this.pageNow());
  }

  between([least, most]) {
    return least + this.roll() * (most - least);
  }

  later(us, what) {
    this.changes.push({ at: this.now + us, what });
  }

  perform(action) {
    this.actions.push({ at: this.now, action });
    if (action.kind === 'seek') {
      this.changes = [];
      this.playing = false;
      this.waiting = false;
      this.rate = 1;
      this.position = action.toUs;
      this.later(this.between(this.o.seekUs), () => {
        this.glass = -1;
        this.show(this.now);
        this.regulator.seekDone(this.pageNow());
        this.step();
      });
    } else if (action.kind === 'play') {
      this.later(this.between(this.o.startUs), () => { this.playing = true; });
    } else {
      this.later(this.o.rateLagUs, () => {
        this.rate = action.rate;
        this.position -= this.o.rateFlushUs;
      });
      if (this.o.rateStallUs > 0 && action.rate !== 1) {
        this.later(this.o.rateLagUs, () => {
          this.playing = false;
          this.regulator.stalled(this.pageNow());
          this.later(this.o.rateStallUs, () => { this.playing = true; });
        });
      }
    }
  }

  /** Puts the picture on the glass that a refresh at `at` shows. */
  show(at) {
    const n = Math.floor((this.position + (this.playing ? this.rate * 1e6 / this.o.refreshHz / 2 : 0)) / this.pictureUs + 1e-9);
    if (n === this.glass) {
      return;
    }
    this.glass = n;
    const error = at - this.o.delayUs - this.capture(n);
    this.seen.push({ at, error, rate: this.rate, held: !this.playing });
    if (this.o.tier === 'a') {
      this.regulator.picture(this.capture(n), at + (this.pageNow() - this.now), this.o.delayUs);
    }
    this.regulator.sample(this.position, this.pageNow(), this.o.delayUs);
    this.step();
  }

  move(us) {
    if (!this.playing) {
      return;
    }
    const r = this.ranges().find((one) => one.startUs <= this.position && this.position < one.endUs);
    const to = this.position + us * this.rate * (1 + this.o.drift);
    if (r === undefined || to >= r.endUs) {
      this.position = r === undefined ? this.position : r.endUs - 1;
      if (!this.waiting) {
        this.waiting = true;
        this.regulator.stalled(this.pageNow());
      }
      return;
    }
    this.waiting = false;
    this.position = to;
  }

  run(us) {
    const until = this.now + us;
    while (this.now < until) {
      this.now += MS;
      this.move(MS);
      for (const c of this.changes.filter((one) => one.at <= this.now)) {
        this.changes = this.changes.filter((one) => one !== c);
        c.what();
      }
      if (this.now >= this.refreshAt) {
        this.refreshAt += 1e6 / this.o.refreshHz * (1 + 37e-6);
        if (this.playing) {
          this.show(this.now);
        }
      }
      if (this.now >= this.tickAt || (this.nextAt !== null && this.pageNow() >= this.nextAt)) {
        this.tickAt = this.now >= this.tickAt ? this.now + 40 * MS : this.tickAt;
        this.nextAt = null;
        this.step();
      }
    }
  }

  /** Numbers over what was seen from a moment on. */
  measure(fromUs = 0) {
    const errors = this.seen.filter((s) => s.at >= fromUs && !s.held).map((s) => s.error / MS).sort((a, b) => a - b);
    const sizes = errors.map(Math.abs).sort((a, b) => a - b);
    const at = (list, share) => list[Math.min(list.length - 1, Math.floor(list.length * share))];
    return {
      count: errors.length, median: at(errors, 0.5), p95: at(sizes, 0.95), p99: at(sizes, 0.99), beyond34: sizes.filter((s) => s > 34).length,
    };
  }
}
