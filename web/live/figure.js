/**
 * The figure that does the cue, in its place beside the picture.
 *
 * Not here: the figures themselves (web/figures/).
 */

import { figures } from '../figures/all.js';
import { play } from '../figures/draw.js';

/** What stops the figure in a place. @type {WeakMap<HTMLElement, () => void>} */
const playing = new WeakMap();

/**
 * Draws a figure and lets it loop; nothing where there is none.
 * @param {HTMLElement} place
 * @param {string | null} id
 */
export function showFigure(place, id) {
  if (place.getAttribute('data-figure') === (id || '')) {
    return;
  }
  const stop = playing.get(place);
  if (stop) {
    stop();
    playing.delete(place);
  }
  const figure = id === null ? undefined : figures[id];
  place.setAttribute('data-figure', id || '');
  place.hidden = !figure;
  place.textContent = '';
  if (figure) {
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    place.appendChild(svg);
    playing.set(place, play(svg, figure));
  }
}
