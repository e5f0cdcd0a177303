/**
 * The keys of a TV page: any press where the browser wants one, and those that
 * ask for the last attempt once more.
 *
 * Not here: which those are (again.js).
 */

import { asksAgain, Presses } from './again.js';

/**
 * @param {object} does
 * @param {() => boolean} does.pressed somebody pressed any key; whether that was what the browser wanted
 * @param {() => void} does.again somebody asks for the last attempt
 */
export function listenToKeys(does) {
  const presses = new Presses();
  document.addEventListener('keydown', function (event) {
    // On a telephone's one long column the same keys scroll.
    const scrolls = document.documentElement.scrollHeight > window.innerHeight + 1;
    if (!does.pressed() && asksAgain(event) && !scrolls && presses.press(performance.now())) {
      does.again();
    }
  });
}
