/**
 * At a screen: which keys ask for the last attempt once more, and how often that
 * is passed on.
 *
 * A presenter's clicker is a keyboard: its *back* key sends PageUp, of some
 * makes an arrow. *Next* is the class clock's (clicker.js).
 *
 * Not here: whether it is answered (the server says).
 */

/** *Back* on clickers, and on a keyboard the key that points up. */
const KEYS = ['PageUp', 'ArrowUp', 'ArrowLeft'];
/** A key that is mashed is passed on this often: the server has to know that it is. */
const EVERY_MS = 500;

/**
 * @param {{key: string, repeat: boolean, ctrlKey: boolean, altKey: boolean, metaKey: boolean}} event
 */
export function asksAgain(event) {
  const plain = !event.repeat && !event.ctrlKey && !event.altKey && !event.metaKey;
  return plain && KEYS.indexOf(event.key) >= 0;
}

export class Presses {
  constructor() {
    this.toldMs = -Infinity;
  }

  /** Somebody pressed. @param {number} nowMs @returns {boolean} whether to say so */
  press(nowMs) {
    if (nowMs - this.toldMs < EVERY_MS) {
      return false;
    }
    this.toldMs = nowMs;
    return true;
  }
}
