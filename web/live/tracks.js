/**
 * Plays the teacher's files, one after the other, into what everything heard
 * goes through.
 *
 * Not here: which comes next (playlist.js), when there is music (signal.js).
 */

import { address, after, any, heardOf, NONE, without } from './playlist.js';

/** Until what was faded out is silent. */
const FADED_S = 1;
/** `MediaError`: the line failed, which says nothing about the file. */
const NETWORK = 2;

export class Tracks {
  /**
   * @param {AudioContext} context
   * @param {AudioNode} to
   */
  constructor(context, to) {
    this.audio = new Audio();
    this.audio.preload = 'auto';
    this.list = NONE;
    this.loaded = '';
    this.asked = false;
    this.offAtS = 0;
    context.createMediaElementSource(this.audio).connect(to);
    this.audio.addEventListener('ended', () => { this.list = after(this.list); });
    this.audio.addEventListener('error', () => { this.broken(); });
  }

  /** @param {number} listing @param {number} count */
  heard(listing, count) {
    this.list = heardOf(this.list, listing, count);
  }

  /** The line was lost: what failed meanwhile may have failed for that. */
  forgive() {
    this.list = Object.assign({}, this.list, { failed: [] });
  }

  broken() {
    const error = this.audio.error;
    this.loaded = '';
    if (error !== null && error.code !== NETWORK) {
      this.list = without(this.list);
    }
  }

  /** Whether there is anything to play. */
  any() {
    return any(this.list);
  }

  /** Whether something comes out. */
  plays() {
    return !this.audio.paused && this.audio.readyState >= 3;
  }

  /**
   * Plays, or stops once it is silent; told again and again.
   * @param {boolean} on
   * @param {number} nowS by the context's clock
   */
  keep(on, nowS) {
    if (!on) {
      this.offAtS = this.offAtS || nowS;
      if (!this.audio.paused && nowS - this.offAtS > FADED_S) {
        this.audio.pause();
      }
      return;
    }
    this.offAtS = 0;
    const wanted = address(this.list);
    if (this.loaded !== wanted) {
      this.loaded = wanted;
      this.audio.src = wanted;
      this.asked = false;
    } else if (this.audio.ended) {
      // The only file of its list.
      this.audio.currentTime = 0;
    }
    if (this.audio.paused && !this.asked) {
      this.asked = true;
      const over = () => { this.asked = false; };
      // Where it fails, the element says so by itself.
      this.audio.play().then(over, over);
    }
  }
}
