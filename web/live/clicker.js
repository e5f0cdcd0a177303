/**
 * At a screen: *next* on a presenter's clicker or a keyboard, and whether it was
 * pressed for long.
 *
 * Told from what the keys send alone: a key that is held repeats, and where it
 * does not, letting it go is. A timer would take a key whose letting go was lost
 * for one that is held. A clicker that lets go at once, however long somebody
 * presses, has no long press.
 *
 * Not here: whether anything comes of it (the server says).
 */

/** *Next* on clickers, of some makes an arrow. */
const KEYS = ['PageDown', 'ArrowDown', 'ArrowRight'];
/**
 * Pressed for so long is a long press: nobody who means *next* stays on it, and
 * what it does is on the glass before a second is over.
 */
export const LONG_MS = 700;

export class Clicker {
  constructor() {
    /** The key that is down; empty: none. */
    this.key = '';
    this.sinceMs = 0;
    /** Its long press has been told. */
    this.told = false;
  }

  /**
   * @param {{key: string, repeat: boolean, ctrlKey: boolean, altKey: boolean, metaKey: boolean}} event
   * @param {number} nowMs
   * @returns {import('./wire').Click | null}
   */
  down(event, nowMs) {
    if (event.repeat) {
      // One that was down before the page was there is nobody's press.
      const held = event.key === this.key && nowMs - this.sinceMs >= LONG_MS;
      return held && !this.told ? this.long() : null;
    }
    const counts = KEYS.indexOf(event.key) >= 0 && !event.ctrlKey && !event.altKey && !event.metaKey;
    this.key = counts ? event.key : '';
    this.sinceMs = nowMs;
    this.told = false;
    return null;
  }

  /**
   * @param {{key: string}} event
   * @param {number} nowMs
   * @returns {import('./wire').Click | null}
   */
  up(event, nowMs) {
    if (this.key === '' || event.key !== this.key) {
      return null;
    }
    const told = this.told;
    const long = nowMs - this.sinceMs >= LONG_MS;
    this.key = '';
    return told ? null : long ? 'long' : 'short';
  }

  /** The page is not where the keys go any more. */
  away() {
    this.key = '';
  }

  /** @returns {import('./wire').Click} */
  long() {
    this.told = true;
    return 'long';
  }
}

/** So long a press is sent again where the line broke: later, another phase may be meant. */
const KEPT_MS = 3000;

/** The last press, until it must have arrived. The server counts one that comes twice once. */
export class LastClick {
  constructor() {
    /** @type {import('./wire').FromScreen | null} */
    this.message = null;
    this.atMs = 0;
  }

  /** @param {import('./wire').FromScreen} message @param {number} nowMs */
  keep(message, nowMs) {
    this.message = message;
    this.atMs = nowMs;
    return message;
  }

  /** What is to be sent on a new line, if anything. @param {number} nowMs */
  still(nowMs) {
    return nowMs - this.atMs <= KEPT_MS ? this.message : null;
  }
}
