/**
 * A new unit: a name, nearly empty or a copy of the one that is open.
 *
 * Not here: what is in it (the box makes the file).
 */

import { part } from './page-parts.js';
import { wordsFrom } from './words.js';

const PATIENCE_MS = 8000;

/**
 * What a name is called as a file: small letters, digits and dashes.
 * @param {string} typed
 */
export function fileName(typed) {
  const plain = typed.normalize('NFD').replace(/[\u0300-\u036f]/g, '').toLowerCase();
  return plain.replace(/[^a-z0-9]+/g, '-').replace(/^[-0-9]+/, '').slice(0, 40).replace(/-+$/, '');
}

/** Waits for the form; a page without one has none. */
export function start() {
  const words = wordsFrom(part('words').textContent || '{}');
  const lang = document.documentElement.lang;
  const name = /** @type {HTMLInputElement} */ (part('new-name'));
  const said = part('new-said');
  part('new').addEventListener('submit', function (event) {
    event.preventDefault();
    const file = fileName(name.value);
    if (file === '') {
      said.textContent = words('live-unit-new-no-name');
      name.focus();
      return;
    }
    const copy = /** @type {HTMLSelectElement} */ (part('new-from')).value;
    const body = JSON.stringify(copy === '' ? { name: file } : { name: file, copy_of: copy });
    const stop = new AbortController();
    const timer = setTimeout(function () { stop.abort(); }, PATIENCE_MS);
    fetch('/api/units?lang=' + lang, { method: 'POST', body: body, headers: { 'content-type': 'application/json' }, signal: stop.signal, cache: 'no-store' }).then(function (answer) {
      clearTimeout(timer);
      if (answer.status === 201) window.location.href = '/unit/' + file + '?lang=' + lang;
      else said.textContent = words(answer.status === 409 ? 'live-unit-new-taken' : 'live-unit-new-refused', { name: file });
    }, function () { said.textContent = words('live-unit-no-answer'); });
  });
}

if (typeof document !== 'undefined') start();
