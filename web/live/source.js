/**
 * One MediaSource with one SourceBuffer on a `<video>`, built anew whenever
 * either breaks, without loading the page again.
 *
 * Appends wait in line, because a SourceBuffer does one thing at a time; small
 * ones that wait together go in together.
 *
 * Not here: what to append, when to seek, what is on the glass.
 */

/** Appends that wait together are joined up to this. */
const JOIN_BYTES = 262144;
/** More than this waiting means the SourceBuffer has stopped; nothing is gained by waiting on. */
const WAITING_BYTES = 33554432;
/** Pauses before building anew; a breakage this long after the last one starts again at the first. */
const AGAIN_MS = [0, 500, 1000, 2000, 5000];
const CALM_MS = 30000;

/**
 * @typedef {{kind: 'append', bytes: ArrayBuffer}
 *   | {kind: 'remove', fromUs: number, toUs: number}
 *   | {kind: 'type', mime: string}} Job
 *
 * @typedef {object} On
 * @property {() => void} moved the buffer changed
 * @property {(why: string) => void} broken it holds nothing any more and is being built anew
 * @property {() => void} ready it was built anew, and wants a run
 * @property {() => number | null} safeToUs up to where pictures may be removed when room is short
 */

export class Source {
  /**
   * @param {HTMLVideoElement} video
   * @param {On} on
   */
  constructor(video, on) {
    this.video = video;
    this.on = on;
    this.originUs = 0;
    this.mime = '';
    /** @type {MediaSource | null} */
    this.media = null;
    /** @type {SourceBuffer | null} */
    this.buffer = null;
    /** @type {Job[]} */
    this.jobs = [];
    this.retried = false;
    this.built = 0;
    this.brokeAtMs = -CALM_MS;
    this.broke = 0;
    this.url = '';
    /** ManagedMediaSource says when it wants more. */
    this.paused = false;
    this.rebuilding = false;
  }

  /**
   * Where media time 0 is on the capture timeline. Takes effect with the next build.
   * @param {number} originUs
   */
  setOrigin(originUs) {
    this.originUs = originUs;
    this.video.setAttribute('data-origin-us', String(originUs));
  }

  /** A run of this type comes next. @param {string} mime */
  run(mime) {
    const before = this.mime;
    this.mime = mime;
    if (this.media === null) {
      if (!this.rebuilding) {
        this.build();
      }
    } else if (mime !== before) {
      this.jobs.push({ kind: 'type', mime: mime });
      this.next();
    }
  }

  /** @param {ArrayBuffer} bytes */
  append(bytes) {
    this.jobs.push({ kind: 'append', bytes: bytes });
    const waiting = this.jobs.reduce(function (sum, j) { return sum + (j.kind === 'append' ? j.bytes.byteLength : 0); }, 0);
    if (waiting > WAITING_BYTES) {
      this.rebuild('appends pile up');
      return;
    }
    this.next();
  }

  /** @param {number} fromUs @param {number} toUs may be Infinity */
  remove(fromUs, toUs) {
    this.jobs.push({ kind: 'remove', fromUs: fromUs, toUs: toUs });
    this.next();
  }

  /** Forgets everything, what waits included. */
  clear() {
    this.jobs = this.jobs.filter(function (j) { return j.kind === 'type'; });
    this.remove(0, Infinity);
  }

  /** @returns {import('./regulator.js').Range[]} on the capture timeline */
  ranges() {
    const found = [];
    try {
      const b = this.buffer === null ? null : this.buffer.buffered;
      for (let i = 0; b !== null && i < b.length; i += 1) {
        found.push({ startUs: this.toCapture(b.start(i)), endUs: this.toCapture(b.end(i)) });
      }
    } catch (gone) {
      return [];
    }
    return found;
  }

  /** @param {number} mediaS */
  toCapture(mediaS) {
    return Math.round(mediaS * 1000000) + this.originUs;
  }

  /** @param {number} captureUs */
  toMedia(captureUs) {
    return (captureUs - this.originUs) / 1000000;
  }

  build() {
    const own = /** @type {any} */ (window);
    const Kind = own.MediaSource || own.ManagedMediaSource;
    if (Kind === undefined) {
      throw new Error('this browser has no Media Source Extensions');
    }
    const media = /** @type {MediaSource} */ (new Kind());
    this.media = media;
    this.buffer = null;
    this.paused = false;
    this.built += 1;
    if (own.MediaSource === undefined) {
      this.video.disableRemotePlayback = true;
      media.addEventListener('startstreaming', () => { this.paused = false; this.next(); });
      media.addEventListener('endstreaming', () => { this.paused = true; });
    }
    media.addEventListener('sourceopen', () => {
      if (this.media === media && this.buffer === null) {
        this.opened(media);
      }
    });
    const old = this.url;
    this.url = URL.createObjectURL(media);
    this.video.src = this.url;
    if (old !== '') {
      URL.revokeObjectURL(old);
    }
  }

  /** @param {MediaSource} media */
  opened(media) {
    try {
      const buffer = media.addSourceBuffer(this.mime);
      buffer.mode = 'segments';
      buffer.timestampOffset = -this.originUs / 1000000;
      buffer.addEventListener('updateend', () => {
        if (this.buffer === buffer) {
          this.on.moved();
          this.next();
        }
      });
      buffer.addEventListener('error', () => {
        if (this.buffer === buffer) { this.rebuild('SourceBuffer error'); }
      });
      this.buffer = buffer;
    } catch (problem) {
      this.rebuild('addSourceBuffer: ' + String(problem));
      return;
    }
    this.next();
  }

  /** Does the next job, if the SourceBuffer is free. */
  next() {
    const buffer = this.buffer;
    const job = this.jobs[0];
    if (buffer === null || job === undefined || buffer.updating || (this.paused && job.kind === 'append')) {
      return;
    }
    try {
      if (job.kind === 'append') {
        const joined = this.join();
        buffer.appendBuffer(joined.bytes);
        this.jobs.splice(0, joined.count);
      } else if (job.kind === 'remove') {
        this.jobs.shift();
        buffer.remove(Math.max(0, this.toMedia(job.fromUs)), this.toMedia(job.toUs));
      } else {
        this.jobs.shift();
        this.changeType(buffer, job.mime);
        return;
      }
      this.retried = false;
    } catch (problem) {
      this.failed(problem);
    }
  }

  /**
   * Where there is no changeType (WebKitGTK 2.50, Chromium before 70) the next
   * initialisation segment has to say it alone. It is H.264 on either side, so
   * most players take it; one that does not reports an error, and is built anew.
   * @param {SourceBuffer} buffer
   * @param {string} mime
   */
  changeType(buffer, mime) {
    if (typeof buffer.changeType === 'function') {
      buffer.changeType(mime);
    }
    this.next();
  }

  /** The appends at the head of the line as one. */
  join() {
    let count = 0;
    let size = 0;
    /** @type {ArrayBuffer[]} */
    const parts = [];
    for (const job of this.jobs) {
      if (job.kind !== 'append' || (count > 0 && size + job.bytes.byteLength > JOIN_BYTES)) {
        break;
      }
      parts.push(job.bytes);
      size += job.bytes.byteLength;
      count += 1;
    }
    if (count === 1) {
      return { bytes: parts[0], count: 1 };
    }
    const whole = new Uint8Array(size);
    let at = 0;
    for (const part of parts) {
      whole.set(new Uint8Array(part), at);
      at += part.byteLength;
    }
    return { bytes: whole.buffer, count: count };
  }

  /** @param {unknown} problem */
  failed(problem) {
    const name = problem instanceof Error || problem instanceof DOMException ? problem.name : String(problem);
    const safe = this.on.safeToUs();
    if (name === 'QuotaExceededError' && !this.retried && safe !== null) {
      this.retried = true;
      this.jobs.unshift({ kind: 'remove', fromUs: this.originUs, toUs: safe });
      const buffer = this.buffer;
      if (buffer !== null && !buffer.updating) {
        this.jobs.shift();
        buffer.remove(0, this.toMedia(safe));
      }
      return;
    }
    this.rebuild(name);
  }

  /** Throws everything away and builds it anew, not too often. @param {string} why */
  rebuild(why) {
    if (this.rebuilding) {
      return;
    }
    const nowMs = performance.now();
    this.broke = nowMs - this.brokeAtMs > CALM_MS ? 0 : this.broke + 1;
    this.brokeAtMs = nowMs;
    this.rebuilding = true;
    this.buffer = null;
    this.jobs = [];
    this.retried = false;
    this.on.broken(why);
    setTimeout(() => {
      this.rebuilding = false;
      this.build();
      this.on.ready();
    }, AGAIN_MS[Math.min(this.broke, AGAIN_MS.length - 1)]);
  }
}
