/**
 * Fills in the code of a screen that was photographed. It opens nothing: the
 * teacher compares it, says which station, and presses.
 *
 * Not here: letting anybody in, which is a plain form and needs no script.
 */

import { codeIn, spacedCode } from './code.js';

const code = codeIn(location.hash);
const field = /** @type {HTMLInputElement | null} */ (document.getElementById('code'));
if (code !== '' && field !== null) {
  field.value = spacedCode(code);
  const compare = document.getElementById('photographed');
  if (compare !== null) { compare.hidden = false; }
  const station = document.getElementById('station');
  if (station !== null) { station.focus(); }
  // Used up: neither a reload nor the history brings it back.
  history.replaceState(null, '', location.pathname + location.search);
}
