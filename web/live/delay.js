/**
 * What the remote knows about one station's delay: reading what was typed,
 * stepping, and keeping what was pressed apart from what the box says.
 *
 * Not here: the page, the network.
 */

/**
 * @typedef {object} Limits
 * @property {number} delay_step_ms
 * @property {number} delay_most_ms
 *
 * @typedef {{ms: number} | {wrong: 'number' | 'step'}} Typed
 */

/**
 * What a typed number of seconds means. A comma is a decimal point too.
 * @param {string} typed
 * @param {Limits} limits
 * @returns {Typed}
 */
export function readSeconds(typed, limits) {
  const clean = typed.trim().replace(',', '.');
  if (!/^\d+(\.\d*)?$|^\.\d+$/.test(clean)) {
    return { wrong: 'number' };
  }
  const ms = Math.round(parseFloat(clean) * 1000);
  if (ms > limits.delay_most_ms) {
    return { wrong: 'number' };
  }
  return ms % limits.delay_step_ms === 0 ? { ms: ms } : { wrong: 'step' };
}

/**
 * One step up or down, staying within the limits.
 * @param {number} ms
 * @param {1 | -1} way
 * @param {Limits} limits
 */
export function stepped(ms, way, limits) {
  const next = ms + way * limits.delay_step_ms;
  return Math.max(0, Math.min(limits.delay_most_ms, next));
}

/**
 * One station's delay: `told` is the box's word, `wanted` what was pressed and
 * not yet answered. Only one request is under way at a time; presses meanwhile
 * add up and go out as one.
 */
export class Wanted {
  constructor() {
    /** @type {number | null} */
    this.told = null;
    /** @type {number | null} */
    this.wanted = null;
    /** @type {number | null} */
    this.underWay = null;
  }

  /** What to show. */
  get shown() {
    return this.wanted === null ? this.told : this.wanted;
  }

  /** The box said so, unasked. @param {number} ms */
  heard(ms) {
    this.told = ms;
  }

  /** Someone pressed. @param {number} ms */
  press(ms) {
    this.wanted = ms;
  }

  /** What to send now, if anything. @returns {number | null} */
  send() {
    if (this.underWay !== null || this.wanted === null) {
      return null;
    }
    this.underWay = this.wanted;
    return this.underWay;
  }

  /** The box took it. @returns {boolean} whether that was the last press */
  taken() {
    this.told = this.underWay;
    const last = this.wanted === this.underWay;
    this.underWay = null;
    if (last) {
      this.wanted = null;
    }
    return last;
  }

  /** It did not: back to what the box said last. */
  failed() {
    this.underWay = null;
    this.wanted = null;
  }
}

/**
 * The sentence in a problem answer (RFC 9457), or nothing.
 * @param {any} body
 * @returns {string}
 */
export function problemText(body) {
  const said = body !== null && typeof body === 'object' ? body.detail || body.title : '';
  return typeof said === 'string' ? said : '';
}
