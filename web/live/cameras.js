/**
 * The cameras that are plugged into the box: a picture of each, one after the
 * other, or the reason why there is none.
 *
 * Not here: which cameras there are (the page comes with them), and what a
 * refusal means (no-picture.js).
 */

import { noPicture } from './no-picture.js';
import { wordsFrom } from './words.js';

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '{}');

/**
 * The picture as the text of an address: the page's policy lets no other in.
 * @param {Blob} picture
 * @returns {Promise<string>}
 */
function addressOf(picture) {
  return new Promise(function (resolve, reject) {
    const reader = new FileReader();
    reader.onload = function () { resolve(String(reader.result)); };
    reader.onerror = function () { reject(reader.error); };
    reader.readAsDataURL(picture);
  });
}

/** @param {HTMLElement} place @param {string} sentence */
function say(place, sentence) {
  const said = place.querySelector('.why');
  if (said !== null) {
    said.textContent = sentence;
  }
}

/** @param {HTMLElement} place @param {string} address */
function show(place, address) {
  const image = document.createElement('img');
  image.src = address;
  image.alt = words('live-picture-of', { name: place.dataset.name || '' });
  place.appendChild(image);
  say(place, '');
}

/** @param {HTMLElement} place */
function take(place) {
  say(place, words('live-picture-taking'));
  return fetch(place.dataset.picture || '', { cache: 'no-store' }).then(function (answer) {
    if (answer.ok) {
      return answer.blob().then(addressOf).then(function (address) { show(place, address); });
    }
    return answer.json().then(function (problem) { say(place, noPicture(problem, words)); });
  }).catch(function () {
    say(place, noPicture(null, words));
  });
}

// One after the other: cameras share a cable, and the box takes one at a time.
let before = Promise.resolve();
Array.prototype.forEach.call(document.querySelectorAll('[data-picture]'), function (/** @type {HTMLElement} */ place) {
  before = before.then(function () { return take(place); });
});
