/**
 * Drawing a mat: corners that are dragged, or moved by the arrow keys.
 *
 * Not here: moving a corner (`mat-corners.js`), and saving (a form).
 */

import { around, byKey, moved, read, WHOLE, written } from './mat-corners.js';
import { wordsFrom } from './words.js';

/** @typedef {import('./mat-corners.js').Corner} Corner */

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '');
const field = /** @type {HTMLInputElement | null} */ (document.querySelector('input[name="corners"]'));
const drawing = document.getElementById('drawing');

/**
 * @param {HTMLInputElement} input
 * @param {HTMLElement} place
 */
function draw(input, place) {
  const off = /** @type {SVGPathElement} */ (place.querySelector('.off'));
  const edge = /** @type {SVGPolygonElement} */ (place.querySelector('.edge'));
  /** @type {HTMLButtonElement[]} */
  const handles = [];
  let corners = read(input.value) || [];

  function show() {
    off.setAttribute('d', around(corners));
    edge.setAttribute('points', corners.map(function (c) { return c.x + ',' + c.y; }).join(' '));
    corners.forEach(function (corner, i) {
      handles[i].style.left = (corner.x / WHOLE) * 100 + '%';
      handles[i].style.top = (corner.y / WHOLE) * 100 + '%';
      const said = { n: i + 1, x: Math.round(corner.x / 100), y: Math.round(corner.y / 100) };
      handles[i].setAttribute('aria-label', words('live-mat-corner', said));
    });
  }

  /**
   * @param {number} i
   * @param {Corner} to
   */
  function move(i, to) {
    corners = moved(corners, i, to);
    input.value = written(corners);
    show();
  }

  function handlesFor() {
    handles.splice(0).forEach(function (old) { place.removeChild(old); });
    corners.forEach(function (_, i) {
      const handle = document.createElement('button');
      handle.type = 'button';
      handle.className = 'corner';
      handle.textContent = String(i + 1);
      handle.addEventListener('keydown', function (event) {
        const to = byKey(corners[i], event.key, event.shiftKey);
        if (to !== null) {
          event.preventDefault();
          move(i, to);
        }
      });
      handle.addEventListener('pointerdown', function (event) {
        event.preventDefault();
        handle.focus();
        handle.setPointerCapture(event.pointerId);
      });
      handle.addEventListener('pointermove', function (event) {
        if (!handle.hasPointerCapture(event.pointerId)) {
          return;
        }
        const box = place.getBoundingClientRect();
        const x = ((event.clientX - box.left) / box.width) * WHOLE;
        const y = ((event.clientY - box.top) / box.height) * WHOLE;
        move(i, { x: x, y: y });
      });
      place.appendChild(handle);
      handles.push(handle);
    });
    show();
  }

  input.addEventListener('change', function () {
    const typed = read(input.value);
    if (typed !== null) {
      corners = typed;
      handlesFor();
    }
  });
  handlesFor();
  // Numbers are for browsers without this script, and for what is wrong with them.
  const row = input.closest('.field');
  if (row instanceof HTMLElement && row.querySelector('.error') === null) {
    row.hidden = true;
  }
}

if (field !== null && drawing !== null) {
  draw(field, drawing);
}
