/**
 * A screen that waits to be let in: asks for a code, shows it, and goes where
 * it is sent once a teacher has typed it. Where the box is on the network, what
 * a phone opens the teacher's page with stands beside it.
 *
 * Not here: who may be let in. The code opens nothing by itself.
 */

import { spacedCode } from './code.js';
import { wordsFrom } from './words.js';

const ASK_MS = 1000;
/** After a failure, and while too many wait. */
const LATER_MS = 5000;
const TOO_MANY = 429;

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '{}');
const page = document.getElementById('pair') || document.body;
const place = document.getElementById('code') || document.body;
const opened = document.getElementById('opens') || document.body;
const picture = /** @type {HTMLImageElement} */ (document.getElementById('photograph'));

/**
 * @typedef {{state: 'waiting', code: string, seconds: number, opens: string | null}
 *   | {state: 'approved', go: string} | {state: 'unknown'}} Standing
 */

/** What stands there now, so that nothing is read aloud twice. */
let shown = '';

/**
 * A code, or a sentence in its place.
 * @param {string} text
 * @param {string | null} opens where the teacher's page is, if it can be reached
 */
function show(text, opens) {
  if (shown === text) {
    return;
  }
  shown = text;
  place.textContent = text;
  page.dataset.shows = opens === null ? 'code' : 'code-and-address';
  if (opens !== null) {
    opened.textContent = opens;
    // The server gives the picture that goes with the code it has given; the
    // code is in no address that is asked for.
    picture.src = '/api/pairing/qr?' + Date.now();
  }
}

/** @param {string} sentence */
function say(sentence) {
  shown = sentence;
  place.textContent = sentence;
  page.dataset.shows = 'sentence';
}

/** @param {'GET' | 'POST'} method @returns {Promise<Standing>} */
function ask(method) {
  return fetch('/api/pairing', { method: method, cache: 'no-store' }).then(function (answer) {
    if (!answer.ok) {
      throw new Error(answer.status === TOO_MANY ? 'live-pair-too-many' : 'live-pair-no-answer');
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
    show(spacedCode(standing.code), standing.opens);
    setTimeout(function () { look('GET'); }, ASK_MS);
  }).catch(function (problem) {
    const tooMany = problem instanceof Error && problem.message === 'live-pair-too-many';
    say(words(tooMany ? 'live-pair-too-many' : 'live-pair-no-answer'));
    setTimeout(function () { look('GET'); }, LATER_MS);
  });
}

look('GET');
