/**
 * What of a sheet is shown, how large its letters are and how much of the page
 * the picture keeps, when not everything has room.
 *
 * The order of giving way: letters go down to the smallest that may be, the
 * picture to the smallest that is still the hero, then parts go, the least
 * important first. The cue never does: where even it alone has no room, its letters go
 * below the smallest, and the page says so.
 *
 * Not here: measuring, which takes a page.
 */

/** The picture's share of the page's width, and of its height. */
export const SHARES = [0.66, 0.63, 0.6, 0.57, 0.54];
/** How much larger than the smallest letter the cue may become where there is room. */
const LARGER = [1.7, 1.5, 1.35, 1.2, 1.1];
/** The last way out. */
const SMALLER = [0.9, 0.8, 0.7, 0.6, 0.5];

/**
 * @typedef {object} Arrangement
 * @property {number} share the picture's
 * @property {number} letter font size of most words, in smallest letters
 * @property {number} cue font size of the cue, in smallest letters
 * @property {string[]} without parts that made way
 */

/**
 * @param {string[]} parts what there is beside the cue, the most important first
 * @param {number} ease the preferred letter, in smallest letters
 * @param {(a: Arrangement) => boolean} fits whether it has room on the page
 * @returns {Arrangement}
 */
export function arrange(parts, ease, fits) {
  let without = parts.slice();
  const tight = function () { return { share: SHARES[SHARES.length - 1], letter: 1, cue: 1, without: without }; };
  if (!fits(tight())) {
    return smaller(tight(), fits);
  }
  for (const part of parts) {
    const before = without;
    without = without.filter(function (one) { return one !== part; });
    // One that has no room leaves it to the next: better two short ones than nothing.
    if (!fits(tight())) {
      without = before;
    }
  }
  return grown(roomiest(tight(), ease, fits), fits);
}

/**
 * The last way out: letters below the smallest.
 * @param {Arrangement} tight
 * @param {(a: Arrangement) => boolean} fits
 */
function smaller(tight, fits) {
  for (const letter of SMALLER) {
    const small = Object.assign({}, tight, { letter: letter, cue: letter });
    if (fits(small)) {
      return small;
    }
  }
  return Object.assign({}, tight, { letter: SMALLER[SMALLER.length - 1], cue: SMALLER[SMALLER.length - 1] });
}

/**
 * The same parts with letters that read with ease, else smaller ones; and of
 * those the largest picture.
 * @param {Arrangement} tight
 * @param {number} ease
 * @param {(a: Arrangement) => boolean} fits
 * @returns {Arrangement}
 */
function roomiest(tight, ease, fits) {
  for (const letter of ease > 1 ? [ease, (1 + ease) / 2, 1] : [1]) {
    const larger = Object.assign({}, tight, { letter: letter, cue: letter });
    // The smallest picture leaves the most room: if not there, then nowhere.
    if (letter === 1 || fits(larger)) {
      for (const share of SHARES) {
        const found = Object.assign({}, larger, { share: share });
        if (share === tight.share || fits(found)) {
          return found;
        }
      }
    }
  }
  return tight;
}

/**
 * The same with a larger cue, where there is room.
 * @param {Arrangement} base
 * @param {(a: Arrangement) => boolean} fits
 */
function grown(base, fits) {
  for (const more of LARGER) {
    const larger = Object.assign({}, base, { cue: base.letter * more });
    if (fits(larger)) {
      return larger;
    }
  }
  return base;
}
