/**
 * What shows a cue or a choice, in its place: a figure that loops, or the
 * teacher's own picture.
 *
 * Not here: the figures themselves (web/figures/).
 */

import { figures } from '../figures/all.js';
import { play } from '../figures/draw.js';

/** What stops the figure in a place. @type {WeakMap<HTMLElement, () => void>} */
const playing = new WeakMap();

/**
 * Draws what there is; nothing where there is none. To whoever does not see it, it
 * says the words it stands for.
 * @param {HTMLElement} place
 * @param {{text: string, figure: string | null, picture: string | null} | null} shown
 * @param {string} pictures where pictures are, as the beginning of their address
 */
export function showDrawn(place, shown, pictures) {
  const name = shown === null ? '' : shown.picture || shown.figure || '';
  const said = shown === null ? '' : shown.text;
  if (place.getAttribute('data-figure') === name && place.getAttribute('data-words') === said) {
    return;
  }
  const stop = playing.get(place);
  if (stop) {
    stop();
    playing.delete(place);
  }
  place.setAttribute('data-figure', name);
  place.setAttribute('data-words', said);
  place.textContent = '';
  const figure = shown === null || shown.figure === null ? undefined : figures[shown.figure];
  if (shown !== null && shown.picture !== null) {
    place.hidden = false;
    place.appendChild(pictureOf(place, pictures + shown.picture, said));
  } else if (figure) {
    place.hidden = false;
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    if (said !== '') {
      svg.setAttribute('role', 'img');
      svg.setAttribute('aria-label', said);
    }
    place.appendChild(svg);
    playing.set(place, play(svg, figure));
  } else {
    place.hidden = true;
  }
}

/**
 * Draws a figure whose words stand beside it; nothing where there is none.
 * @param {HTMLElement} place
 * @param {string | null} id
 */
export function showFigure(place, id) {
  showDrawn(place, id === null ? null : { text: '', figure: id, picture: null }, '');
}

/** @param {HTMLElement} place @param {string} address @param {string} said */
function pictureOf(place, address, said) {
  const picture = document.createElement('img');
  picture.alt = said;
  // Its words are there all the same.
  picture.addEventListener('error', function () {
    if (place.contains(picture)) {
      place.hidden = true;
      console.warn('a picture could not be shown');
    }
  });
  picture.src = address;
  return picture;
}
