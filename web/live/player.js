/**
 * The `<video>` element: does what the regulator says and tells it what is on
 * the glass.
 *
 * Tier A browsers say of each picture when it is shown
 * (`requestVideoFrameCallback`). Tier B ones do not; there the media clock is
 * read once a refresh.
 *
 * Not here: what is due (pace.js), how it gets there (regulator.js), the buffer
 * (source.js), the link.
 */

import { captureUs, dueUs, filmDelayUs, filmRanges, filmUs, samePace, speed } from './pace.js';
import { Regulator } from './regulator.js';

/** Asked at least this often, pictures or not. */
const TICK_MS = 40;
/** A timer set closer than this is late anyway. */
const NEAR_MS = 1;
/** A hair inside a picture, so that no rounding lands on the one before. */
const INSIDE_US = 100;
/** Nearer than this is the same picture. */
const SAME_S = 0.004;
/** Playing, with pictures ahead, and still not moving for this long: the decoder is stuck. */
const STUCK_MS = 2500;

/**
 * @typedef {object} Clocks
 * @property {() => number} nowUs server's clock now
 * @property {(pageMs: number) => number} atUs server's clock at a page time
 * @property {() => import('./pace.js').Pace | null} pace `null` while unknown
 *
 * @typedef {object} On
 * @property {(tap: boolean) => void} tap the browser wants a press, or does no longer
 * @property {() => void} picture a picture reached the glass
 * @property {(why: string) => void} stuck
 */

export class Player {
  /**
   * @param {HTMLVideoElement} video
   * @param {import('./source.js').Source} source
   * @param {Clocks} clocks
   * @param {On} on
   * @param {boolean} forceB
   */
  constructor(video, source, clocks, on, forceB) {
    this.video = video;
    this.source = source;
    this.clocks = clocks;
    this.on = on;
    this.regulator = new Regulator();
    /** @type {import('./pace.js').Pace | null} */
    this.pace = null;
    this.tier = !forceB && 'requestVideoFrameCallback' in video ? 'a' : 'b';
    /** The picture on the glass, capture time. @type {number | null} */
    this.glassUs = null;
    /** When it was shown, server's clock. */
    this.shownUs = 0;
    this.waiting = false;
    this.shouldPlay = false;
    this.tapNeeded = false;
    this.timer = 0;
    this.movedAtMs = 0;
    this.movedTo = -1;
    this.droppedBefore = 0;
    this.droppedLast = 0;
    this.listen();
    if (this.tier === 'a') {
      this.watchPictures();
    } else {
      this.watchClock();
    }
    setInterval(() => { this.step(); this.watchStuck(); }, TICK_MS);
  }

  listen() {
    const v = this.video;
    v.addEventListener('seeked', () => {
      this.regulator.seekDone(this.clocks.nowUs());
      this.step();
    });
    v.addEventListener('waiting', () => {
      if (!v.seeking && this.shouldPlay) {
        this.waiting = true;
        this.regulator.stalled(this.clocks.nowUs());
      }
    });
    v.addEventListener('playing', () => { this.waiting = false; });
    v.addEventListener('error', () => {
      const e = v.error;
      this.source.rebuild('video error ' + (e === null ? '' : e.code + ' ' + e.message));
    });
  }

  /** Tier A: each picture says when it is shown. */
  watchPictures() {
    const v = this.video;
    /** @param {number} now @param {VideoFrameCallbackMetadata} meta */
    const each = (now, meta) => {
      v.requestVideoFrameCallback(each);
      this.glass(this.source.toCapture(meta.mediaTime), this.clocks.atUs(meta.expectedDisplayTime || now));
    };
    v.requestVideoFrameCallback(each);
  }

  /** Tier B: the media clock, once a refresh. */
  watchClock() {
    const v = this.video;
    let seen = -1;
    const each = () => {
      requestAnimationFrame(each);
      const at = v.currentTime;
      if (v.readyState >= 2 && !v.seeking && at !== seen) {
        seen = at;
        this.glass(this.source.toCapture(at), this.clocks.nowUs());
      }
    };
    requestAnimationFrame(each);
  }

  /** @param {number} glassUs @param {number} shownUs */
  glass(glassUs, shownUs) {
    this.glassUs = glassUs;
    this.shownUs = shownUs;
    const pace = this.pace;
    if (pace !== null && pace.kind !== 'held') {
      const delayUs = filmDelayUs(pace);
      this.regulator.picture(filmUs(pace, glassUs), shownUs, delayUs);
      this.regulator.sample(filmUs(pace, this.source.toCapture(this.video.currentTime)), this.clocks.nowUs(), delayUs);
    }
    this.on.picture();
    this.step();
  }

  /** Asks the regulator, and does what it says. */
  step() {
    const pace = this.clocks.pace();
    if (pace === null || this.tapNeeded) {
      return;
    }
    if (!samePace(this.pace, pace)) {
      this.regulator.reset();
    }
    this.pace = pace;
    if (pace.kind === 'held') {
      this.hold(pace.atUs);
      return;
    }
    const nowUs = this.clocks.nowUs();
    const action = this.regulator.step({
      nowUs: nowUs,
      delayUs: filmDelayUs(pace),
      ranges: filmRanges(pace, this.source.ranges()),
      positionUs: filmUs(pace, this.source.toCapture(this.video.currentTime)),
      waiting: this.waiting,
    });
    if (action !== null) {
      this.perform(action, pace);
    }
    const next = this.regulator.nextUs(nowUs);
    // Its end is not to be late: after it other pictures follow.
    const ends = pace.kind === 'again' ? pace.endsUs : null;
    this.sleepUntil(next === null || (ends !== null && ends < next) ? ends : next, nowUs);
  }

  /** Stays at one picture. @param {number} atUs */
  hold(atUs) {
    const v = this.video;
    this.shouldPlay = false;
    this.waiting = false;
    if (!v.paused) {
      v.pause();
    }
    const there = this.source.ranges().some(function (r) { return r.startUs <= atUs && atUs < r.endUs; });
    const to = this.source.toMedia(atUs + INSIDE_US);
    if (there && !v.seeking && Math.abs(v.currentTime - to) > SAME_S) {
      v.currentTime = to;
    }
  }

  /** @param {import('./regulator.js').Action} action @param {import('./pace.js').Pace} pace */
  perform(action, pace) {
    const v = this.video;
    if (action.kind === 'rate') {
      v.playbackRate = action.rate * speed(pace);
    } else if (action.kind === 'play') {
      this.play();
    } else {
      this.shouldPlay = false;
      this.waiting = false;
      v.pause();
      v.playbackRate = speed(pace);
      v.currentTime = this.source.toMedia(captureUs(pace, action.toUs) + INSIDE_US);
    }
  }

  play() {
    this.shouldPlay = true;
    this.movedAtMs = performance.now();
    const playing = this.video.play();
    if (playing === undefined) {
      return;
    }
    playing.catch((problem) => {
      if (problem.name === 'NotAllowedError') {
        this.setTap(true);
      }
    });
  }

  /** Someone pressed. @returns {boolean} whether that was wanted */
  pressed() {
    if (!this.tapNeeded) {
      return false;
    }
    // The press only counts inside its own event, so play first, aim after.
    const playing = this.video.play();
    this.setTap(false);
    this.regulator.reset();
    if (playing !== undefined) {
      playing.catch((problem) => {
        if (problem.name === 'NotAllowedError') {
          this.setTap(true);
        }
      });
    }
    return true;
  }

  /** @param {boolean} tap */
  setTap(tap) {
    this.tapNeeded = tap;
    this.on.tap(tap);
  }

  /** Nothing that is or was on the glass counts any more. */
  forget() {
    this.glassUs = null;
    this.shouldPlay = false;
    this.regulator.reset();
    this.video.pause();
  }

  /** @param {number | null} atUs @param {number} nowUs */
  sleepUntil(atUs, nowUs) {
    clearTimeout(this.timer);
    const ms = atUs === null ? Infinity : (atUs - nowUs) / 1000;
    if (ms < TICK_MS) {
      this.timer = window.setTimeout(() => { this.step(); }, Math.max(NEAR_MS, ms));
    }
  }

  watchStuck() {
    const v = this.video;
    const nowMs = performance.now();
    const at = this.source.toCapture(v.currentTime);
    const ahead = this.source.ranges().some(function (r) { return r.startUs <= at && r.endUs - at > 500000; });
    if (v.currentTime !== this.movedTo || !this.shouldPlay || !ahead || document.hidden) {
      this.movedTo = v.currentTime;
      this.movedAtMs = nowMs;
    } else if (nowMs - this.movedAtMs > STUCK_MS) {
      this.movedAtMs = nowMs;
      this.on.stuck('no movement with pictures ahead');
    }
  }

  /** How far the glass is from where it should be, if that can be said. @returns {number | null} */
  errorUs() {
    const pace = this.clocks.pace();
    // What is shown once more is as late as it likes.
    if (pace === null || pace.kind !== 'late' || !samePace(this.pace, pace)) {
      return null;
    }
    const seen = this.regulator.errorUs(this.clocks.nowUs());
    if (seen !== null || this.glassUs === null) {
      return seen;
    }
    return dueUs(pace, this.shownUs) - this.glassUs;
  }

  /** Pictures the browser left out since the page opened. */
  dropped() {
    const v = this.video;
    const now = typeof v.getVideoPlaybackQuality === 'function' ? v.getVideoPlaybackQuality().droppedVideoFrames : 0;
    // The browser counts anew with each MediaSource.
    this.droppedBefore += now < this.droppedLast ? this.droppedLast : 0;
    this.droppedLast = now;
    return this.droppedBefore + now;
  }
}
