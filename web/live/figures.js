/**
 * The page of all figures: each with its name, still until it is pressed.
 *
 * Not here: what a figure is or how it is drawn (web/figures/).
 */

import { figures, names } from '../figures/all.js';
import { drawStill, play } from '../figures/draw.js';
import { wordsFrom } from './words.js';

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '{}');
const list = document.getElementById('figures') || document.body;

/** @type {((moves: boolean) => void)[]} */
const all = [];

/** @param {string} id */
function add(id) {
  const item = document.createElement('li');
  const button = document.createElement('button');
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  const name = document.createElement('span');
  /** @type {(() => void) | null} */
  let stop = null;
  /** @param {boolean} moves */
  const set = function (moves) {
    if (stop) stop();
    stop = moves ? play(svg, figures[id]) : null;
    if (!moves) drawStill(svg, figures[id]);
    button.setAttribute('aria-pressed', String(moves));
  };
  // The name stands below it.
  svg.setAttribute('aria-hidden', 'true');
  name.textContent = words('live-figure-' + id);
  button.type = 'button';
  button.dataset.figure = id;
  button.appendChild(svg);
  button.appendChild(name);
  button.addEventListener('click', function () { set(!stop); });
  item.appendChild(button);
  list.appendChild(item);
  set(false);
  all.push(set);
}

/** @param {string} id @param {boolean} moves */
function whenPressed(id, moves) {
  const button = document.getElementById(id);
  if (button) button.addEventListener('click', function () { all.forEach(function (set) { set(moves); }); });
}

names.forEach(add);
whenPressed('move', true);
whenPressed('stop', false);
