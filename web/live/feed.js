/**
 * Which of the messages that arrive go into the SourceBuffer.
 *
 * After a break the server starts again at a keyframe, mostly with pictures
 * this page still holds. Appending those again would cut the stretch that is
 * being shown; so they are left out, and the first new one carries on where
 * the buffer ends. Where nothing can be carried on, a run begins with its
 * initialisation segment and a keyframe.
 *
 * Not here: reading boxes, the SourceBuffer.
 */

/** @typedef {import('./boxes.js').Fragment} Fragment */

export class Feed {
  constructor() {
    this.mime = '';
    /** @type {ArrayBuffer | null} the initialisation segment in the SourceBuffer */
    this.init = null;
    /** @type {ArrayBuffer | null} one that came and is not yet in it */
    this.pending = null;
    /** @type {number | null} number of the last fragment appended */
    this.last = null;
    /** Where the last one appended ends, capture time. @type {number | null} */
    this.endUs = null;
    /** Nothing is taken before the next run. */
    this.shut = true;
    /** Capture times of the keyframes appended, oldest first. @type {number[]} */
    this.keyframes = [];
    this.durationUs = 33333;
  }

  /** The SourceBuffer holds nothing any more. */
  reset() {
    this.init = null;
    this.pending = null;
    this.last = null;
    this.endUs = null;
    this.shut = true;
    this.keyframes = [];
  }

  /** A run begins. @param {string} mime @returns {boolean} the SourceBuffer has to change its type */
  run(mime) {
    const changed = mime !== this.mime;
    this.mime = mime;
    this.pending = null;
    this.shut = false;
    if (changed) {
      this.init = null;
    }
    return changed;
  }

  /** @param {ArrayBuffer} bytes an initialisation segment */
  initSegment(bytes) {
    this.pending = bytes;
    if (this.init === null || !same(this.init, bytes)) {
      this.last = null;
    }
  }

  /**
   * What to append for this fragment, in order; nothing if it is held already
   * or cannot be decoded.
   * @param {ArrayBuffer} bytes
   * @param {Fragment} f
   * @param {(captureUs: number) => boolean} held whether the buffer holds that picture
   * @returns {ArrayBuffer[]}
   */
  fragment(bytes, f, held) {
    if (this.shut) {
      return [];
    }
    const next = this.last !== null && f.number === (this.last + 1) >>> 0;
    if (this.pending === null) {
      return next || (f.keyframe && this.init !== null) ? this.take(f, [bytes]) : [];
    }
    const seam = this.init !== null && same(this.init, this.pending) && this.last !== null;
    if (seam && next) {
      this.pending = null;
      return this.take(f, [bytes]);
    }
    if (seam && this.endUs !== null && f.captureUs < this.endUs && held(f.captureUs)) {
      return [];
    }
    if (!f.keyframe) {
      return [];
    }
    const init = this.pending;
    this.init = init;
    this.pending = null;
    return this.take(f, [init, bytes]);
  }

  /** @param {Fragment} f @param {ArrayBuffer[]} parts */
  take(f, parts) {
    this.last = f.number;
    this.endUs = f.captureUs + f.durationUs;
    this.durationUs = f.durationUs;
    if (f.keyframe) {
      this.keyframes = this.keyframes.filter(function (k) { return k < f.captureUs; });
      this.keyframes.push(f.captureUs);
    }
    return parts;
  }

  /**
   * Up to where old pictures may be removed: a keyframe, since removing goes on
   * to the next one and must not reach what is shown.
   * @param {number} beforeUs
   * @returns {number | null}
   */
  removableTo(beforeUs) {
    const older = this.keyframes.filter(function (k) { return k <= beforeUs; });
    if (older.length < 2) {
      return null;
    }
    const to = older[older.length - 1];
    this.keyframes = this.keyframes.filter(function (k) { return k >= to; });
    return to;
  }
}

/** @param {ArrayBuffer} a @param {ArrayBuffer} b */
function same(a, b) {
  if (a.byteLength !== b.byteLength) {
    return false;
  }
  const x = new Uint8Array(a);
  const y = new Uint8Array(b);
  return x.every(function (v, i) { return v === y[i]; });
}
