/**
 * The outline of what stands still before a camera: where brightness changes
 * sharply, and does so in nearly every look over some seconds, so that who walks
 * by leaves no line. Lines alone: no picture can be made of them.
 *
 * Not here: getting at pictures, drawing, keeping.
 */

/** The longer side, in points. */
export const LONG = 160;
/** So many looks make an outline. */
export const LOOKS = 12;
/** A line is there in so many of them. */
const IN_MOST = 10;
/** The share of points that are lines in one look. */
const LINES = 0.07;
/** What changes less is noise, in steps of brightness over two points. */
const LEAST = 40;

/**
 * How large an outline of such a video is.
 * @param {number} width @param {number} height
 */
export function sizeFor(width, height) {
  const scale = LONG / Math.max(width, height, 1);
  return { width: Math.max(3, Math.round(width * scale)), height: Math.max(3, Math.round(height * scale)) };
}

/**
 * 1 where a line is (Sobel's operator).
 * @param {ArrayLike<number>} grey @param {number} width @param {number} height
 */
export function lines(grey, width, height) {
  const strength = new Uint16Array(width * height);
  for (let y = 1; y < height - 1; y += 1) {
    for (let x = 1; x < width - 1; x += 1) {
      const i = y * width + x;
      const across = grey[i - width + 1] + 2 * grey[i + 1] + grey[i + width + 1] - grey[i - width - 1] - 2 * grey[i - 1] - grey[i + width - 1];
      const down = grey[i + width - 1] + 2 * grey[i + width] + grey[i + width + 1] - grey[i - width - 1] - 2 * grey[i - width] - grey[i - width + 1];
      strength[i] = Math.abs(across) + Math.abs(down);
    }
  }
  const sorted = strength.slice().sort();
  const least = Math.max(LEAST, sorted[Math.floor(sorted.length * (1 - LINES))]);
  const found = new Uint8Array(width * height);
  for (let i = 0; i < found.length; i += 1) {
    found[i] = strength[i] >= least ? 1 : 0;
  }
  return found;
}

/** Looks, until they make an outline. */
export class Looks {
  constructor() {
    /** @type {Uint8Array | null} */
    this.counts = null;
    this.looks = 0;
    this.width = 0;
  }

  /**
   * @param {Uint8Array} found one look's lines
   * @param {number} width
   * @returns {Uint8Array | null} what lasted, once there are enough looks
   */
  add(found, width) {
    if (this.counts === null || this.counts.length !== found.length || this.width !== width) {
      this.counts = new Uint8Array(found.length);
      this.looks = 0;
      this.width = width;
    }
    for (let i = 0; i < found.length; i += 1) {
      this.counts[i] += found[i];
    }
    this.looks += 1;
    if (this.looks < LOOKS) {
      return null;
    }
    const lasting = this.counts.map(function (count) { return count >= IN_MOST ? 1 : 0; });
    this.counts = null;
    return lasting;
  }
}

/**
 * As text to be kept: the width, then the points in hexadecimal.
 * @param {Uint8Array} found @param {number} width
 */
export function toText(found, width) {
  let text = width + ':';
  for (let i = 0; i < found.length; i += 4) {
    text += ((found[i] << 3) | (found[i + 1] << 2) | (found[i + 2] << 1) | found[i + 3]).toString(16);
  }
  return text;
}

/**
 * What was kept; nothing of a text that is none of ours.
 * @param {string | null} text
 * @returns {{found: Uint8Array, width: number, height: number} | null}
 */
export function fromText(text) {
  const parts = /^(\d{1,3}):([0-9a-f]+)$/.exec(text || '');
  if (parts === null) {
    return null;
  }
  const width = Number(parts[1]);
  const height = Math.floor(parts[2].length * 4 / width);
  if (width < 3 || width > LONG || height < 3 || height > LONG) {
    return null;
  }
  const found = new Uint8Array(width * height);
  for (let i = 0; i < found.length; i += 1) {
    found[i] = (parseInt(parts[2][i >> 2], 16) >> (3 - (i & 3))) & 1;
  }
  return { found: found, width: width, height: height };
}
