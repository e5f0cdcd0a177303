/**
 * Saves the files for the families one after the other, and says how far it is.
 * Each can be saved by itself without this.
 *
 * Not here: what is in them.
 */

import { wordsFrom } from './words.js';

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '');
const files = /** @type {HTMLButtonElement[]} */ (Array.from(document.querySelectorAll('#exported button.file')));
const passphrase = /** @type {HTMLInputElement | null} */ (document.getElementById('file-passphrase'));
const all = document.getElementById('all');
const button = /** @type {HTMLButtonElement | null} */ (document.getElementById('save-all'));
const bar = /** @type {HTMLProgressElement | null} */ (document.getElementById('saved'));
const said = document.getElementById('said');

/**
 * The name the box gives a file.
 * @param {Response} response
 */
function called(response) {
  const found = /filename="([^"]+)"/.exec(response.headers.get('content-disposition') || '');
  return found === null ? 'afterturn.zip' : found[1];
}

/** @param {HTMLButtonElement} file @param {string} passphrase */
async function save(file, passphrase) {
  const body = new URLSearchParams({ 'file-passphrase': passphrase });
  const response = await fetch(file.formAction, { method: 'POST', body: body });
  if (!response.ok) {
    throw new Error(String(response.status));
  }
  const url = URL.createObjectURL(await response.blob());
  const way = document.createElement('a');
  way.href = url;
  way.download = called(response);
  document.body.appendChild(way);
  way.click();
  document.body.removeChild(way);
  // The browser has to have begun; a minute is long enough for that.
  setTimeout(function () { URL.revokeObjectURL(url); }, 60000);
}

if (all !== null && button !== null && bar !== null && said !== null && passphrase !== null && files.length > 1) {
  all.hidden = false;
  bar.max = files.length;
  button.addEventListener('click', async function () {
    if (!passphrase.reportValidity()) {
      return;
    }
    button.disabled = true;
    let failed = false;
    for (let i = 0; i < files.length; i += 1) {
      try {
        await save(files[i], passphrase.value);
      } catch (_) {
        failed = true;
      }
      bar.value = i + 1;
      said.textContent = words('live-export-saved', { done: i + 1, all: files.length });
    }
    if (failed) {
      said.textContent = words('live-export-failed');
    }
    button.disabled = false;
  });
}
