/**
 * Which figure stands on a card.
 *
 * Not here: when there is a card (cover.js), its words.
 */

/** @type {{[kind: string]: string}} */
const FIGURES = { 'freeze': 'stand', 'accident': 'sit', 'leave': 'line-up' };

/**
 * @param {string} kind
 * @param {string | null} cue the figure of the station's cue
 * @returns {string | null}
 */
export function cardFigure(kind, cue) {
  // Where a picture is not shown the cue is, and no card says why.
  if (kind === 'between' || kind === 'covered') {
    return cue;
  }
  return FIGURES[kind] || null;
}
