/**
 * A picture board: what may be chosen from, side by side, each with its figure
 * and, where there is room, its words.
 *
 * Not here: what the choices are (sheet.js), and whether there is room.
 */

import { showDrawn } from './figure.js';

/**
 * As many places as there are choices, none larger than the next.
 * @param {HTMLElement} board
 * @param {import('./wire').Shown[]} choices
 * @param {string} pictures where pictures are, as the beginning of their address
 */
export function drawBoard(board, choices, pictures) {
  while (board.children.length > choices.length) {
    const last = /** @type {HTMLElement} */ (board.lastChild);
    showDrawn(/** @type {HTMLElement} */ (last.firstChild), null, pictures);
    board.removeChild(last);
  }
  while (board.children.length < choices.length) {
    const place = document.createElement('li');
    const drawn = document.createElement('div');
    drawn.className = 'drawn';
    place.appendChild(drawn);
    place.appendChild(document.createElement('p'));
    board.appendChild(place);
  }
  choices.forEach(function (one, i) {
    const place = board.children[i];
    showDrawn(/** @type {HTMLElement} */ (place.firstChild), one, pictures);
    const words = /** @type {HTMLElement} */ (place.lastChild);
    if (words.textContent !== one.text) {
      words.textContent = one.text;
    }
  });
}
