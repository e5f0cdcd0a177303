/**
 * A screen that waits to be let in: asks for a code, shows it, and goes where
 * it is sent once a teacher has typed it.
 *
 * Not here: who may be let in. The code opens nothing by itself.
 */

import { spacedCode } from './code.js';
import { wordsFrom } from './words.js';

const ASK_MS = 1000;
/** After a failure, and while too many wait. */
const LATER_MS = 5000;

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '{}');
const place = document.getElementById('code') || document.body;

/** @typedef {{state: 'waiting', code: string, seconds: number} | {state: 'approved', go: string} | {state: 'unknown'}} Standing */

/** @param {string} text */
function show(text) {
  if (place.textContent !== text) {
    place.textContent = text;
  }
}

/** @param {'GET' | 'POST'} method @returns {Promise<Standing>} */
function ask(method) {
  return fetch('/api/pairing', { method: method, cache: 'no-store' }).then(function (answer) {
    if (!answer.ok) {
      throw new Error('status ' + answer.status);
    }
    return answer.json();
  });
}

/** @param {'GET' | 'POST'} method */
function look(method) {
  ask(method).then(function (standing) {
    if (standing.state === 'approved') {
      location.replace(standing.go);
      return;
    }
    if (standing.state === 'unknown') {
      // Ours has run out, or the box began anew.
      look('POST');
      return;
    }
    show(spacedCode(standing.code));
    setTimeout(function () { look('GET'); }, ASK_MS);
  }).catch(function () {
    show(words('live-pair-no-answer'));
    setTimeout(function () { look('GET'); }, LATER_MS);
  });
}

look('GET');
