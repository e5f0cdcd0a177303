/**
 * What the remote's scripts share: parts found, words put into them only where
 * they differ, so that nothing is read aloud twice.
 *
 * Not here: which parts the page has.
 */

import { part, text as put } from './page-parts.js';

export { part, put };

/** An answer later than this is none. */
const PATIENCE_MS = 3000;

/**
 * Asks the box, and gives up after a while.
 * @param {string} url
 * @param {RequestInit} init
 * @returns {Promise<Response>}
 */
export function ask(url, init) {
  const stop = new AbortController();
  const timer = setTimeout(function () { stop.abort(); }, PATIENCE_MS);
  const all = Object.assign({ signal: stop.signal, cache: 'no-store' }, init);
  return fetch(url, all).then(
    function (answer) { clearTimeout(timer); return answer; },
    function (problem) { clearTimeout(timer); throw problem; }
  );
}

/**
 * @param {string} selector
 * @param {string} attribute
 * @param {(item: HTMLElement, value: string) => void} act told what the attribute says
 */
export function each(selector, attribute, act) {
  document.querySelectorAll(selector).forEach(function (item) {
    act(/** @type {HTMLElement} */ (item), item.getAttribute(attribute) || '');
  });
}

/** @param {string} id */
export function field(id) {
  return /** @type {HTMLInputElement} */ (part(id));
}

/** @param {Element} place @param {string} what */
export function text(place, what) {
  if (place.textContent !== what) {
    place.textContent = what;
  }
}

/**
 * A new element with words in it.
 * @param {string} name
 * @param {string} className
 * @param {string} words
 */
export function made(name, className, words) {
  const element = document.createElement(name);
  if (className !== '') { element.className = className; }
  element.textContent = words;
  return element;
}
