/**
 * Which figure stands on a card.
 *
 * Not here: when there is a card (cover.js), its words.
 */

/** Where these are, the cue stands for the picture, and nothing says why. */
const INSTEAD = ['between', 'covered', 'paused', 'quiet'];
/** @type {{[kind: string]: string}} */
const FIGURES = { 'freeze': 'stand', 'accident': 'sit', 'leave': 'line-up' };

/** @typedef {{text: string, figure: string | null, picture: string | null}} Drawn */

/**
 * @param {string} kind
 * @param {Drawn | null} cue the station's cue, as it is drawn
 * @returns {Drawn | null}
 */
export function cardFigure(kind, cue) {
  if (INSTEAD.indexOf(kind) >= 0) {
    return cue === null || (cue.figure === null && cue.picture === null) ? null : cue;
  }
  return FIGURES[kind] ? { text: '', figure: FIGURES[kind], picture: null } : null;
}

/**
 * Whether a card has no words.
 * @param {string} kind
 * @param {Drawn | null} figure what stands on it
 */
export function isSilent(kind, figure) {
  return kind === 'dark' || (INSTEAD.indexOf(kind) >= 0 && figure !== null);
}
