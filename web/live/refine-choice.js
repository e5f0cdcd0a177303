/**
 * A row of buttons, one for each refinement of the day and one for none.
 *
 * Not here: what they are (refine.js), what a press does.
 */

import { figures } from '../figures/all.js';
import { drawStill } from '../figures/draw.js';
import { NAMES, REFINEMENTS } from './refine.js';
import { made } from './remote-parts.js';

/** @typedef {import('./wire').Refinement} Refinement */

/**
 * @param {HTMLElement} place
 * @param {(id: string) => string} words
 * @param {(name: Refinement | null) => void} pick
 */
export function refineChoice(place, words, pick) {
  /** @type {(Refinement | null)[]} */
  const all = [null];
  all.concat(NAMES).forEach(function (name) {
    const button = made('button', name === null ? '' : 'refinement', '');
    button.setAttribute('type', 'button');
    button.setAttribute('data-refine', name === null ? '' : name);
    if (name !== null) {
      const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
      svg.setAttribute('aria-hidden', 'true');
      drawStill(svg, figures[REFINEMENTS[name][0]]);
      button.appendChild(svg);
    }
    button.appendChild(made('span', '', words(name === null ? 'live-refine-none' : REFINEMENTS[name][1])));
    button.addEventListener('click', function () { pick(name); });
    place.appendChild(button);
  });
}

/** @param {HTMLElement} place @param {Refinement | null} name */
export function refineChosen(place, name) {
  place.querySelectorAll('[data-refine]').forEach(function (button) {
    button.setAttribute('aria-pressed', String(button.getAttribute('data-refine') === (name || '')));
  });
}
