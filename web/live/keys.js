/**
 * The keys of a screen's page: any press where the browser wants one, those that
 * ask for the last attempt once more, and *next*, short or long.
 *
 * Not here: which those are (again.js, clicker.js).
 */

import { asksAgain, Presses } from './again.js';
import { Clicker } from './clicker.js';

/**
 * @param {object} does
 * @param {() => boolean} does.pressed somebody pressed any key; whether that was what the browser wanted
 * @param {() => void} does.again somebody asks for the last attempt
 * @param {(click: import('./wire').Click) => void} does.clicked somebody pressed *next*
 */
export function listenToKeys(does) {
  const presses = new Presses();
  const clicks = new Presses();
  const clicker = new Clicker();
  // On a telephone's one long column the same keys scroll.
  const scrolls = function () { return document.documentElement.scrollHeight > window.innerHeight + 1; };
  const clicked = function (/** @type {import('./wire').Click | null} */ click) {
    // Only short ones can be mashed.
    if (click !== null && !scrolls() && (click === 'long' || clicks.press(performance.now()))) {
      does.clicked(click);
    }
  };
  document.addEventListener('keydown', function (event) {
    if (does.pressed()) {
      clicker.away();
      return;
    }
    if (asksAgain(event) && !scrolls() && presses.press(performance.now())) {
      does.again();
    }
    clicked(clicker.down(event, performance.now()));
  });
  document.addEventListener('keyup', function (event) { clicked(clicker.up(event, performance.now())); });
  window.addEventListener('blur', function () { clicker.away(); });
}
