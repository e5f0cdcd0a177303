/**
 * Which figure stands on a card.
 *
 * Not here: when there is a card (cover.js), its words.
 */

/** Where these are, the cue stands for the picture, and nothing says why. */
const INSTEAD = ['between', 'covered', 'paused'];
/** @type {{[kind: string]: string}} */
const FIGURES = { 'freeze': 'stand', 'accident': 'sit', 'leave': 'line-up' };

/**
 * @param {string} kind
 * @param {string | null} cue the figure of the station's cue
 * @returns {string | null}
 */
export function cardFigure(kind, cue) {
  if (INSTEAD.indexOf(kind) >= 0) {
    return cue;
  }
  return FIGURES[kind] || null;
}

/**
 * Whether a card has no words.
 * @param {string} kind
 * @param {string | null} figure what stands on it
 */
export function isSilent(kind, figure) {
  return kind === 'dark' || (INSTEAD.indexOf(kind) >= 0 && figure !== null);
}
