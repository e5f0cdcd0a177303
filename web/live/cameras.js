/**
 * The cameras that are plugged into the box: a picture of one when somebody
 * presses for it, or the reason why there is none. Opening the page asks for
 * nothing.
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

/** @param {HTMLFormElement} form @param {string} sentence */
function say(form, sentence) {
  const said = form.querySelector('.why');
  if (said !== null) {
    said.textContent = sentence;
  }
}

/**
 * Takes away what was seen before: it is not what the camera sees now.
 * @param {HTMLFormElement} form
 */
function clear(form) {
  const image = form.querySelector('img');
  if (image !== null && image.parentNode !== null) {
    image.parentNode.removeChild(image);
  }
}

/** @param {HTMLFormElement} form @param {string} address */
function show(form, address) {
  const image = document.createElement('img');
  image.src = address;
  image.alt = words('live-picture-of', { name: form.dataset.name || '' });
  (form.querySelector('.shot') || form).appendChild(image);
  say(form, '');
}

/** @param {HTMLFormElement} form */
function take(form) {
  clear(form);
  say(form, words('live-picture-taking'));
  return fetch(form.action, { method: 'POST', cache: 'no-store' }).then(function (answer) {
    if (answer.ok) {
      return answer.blob().then(addressOf).then(function (address) { show(form, address); });
    }
    return answer.json().then(function (problem) { say(form, noPicture(problem, words)); });
  }).catch(function () {
    say(form, noPicture(null, words));
  });
}

Array.prototype.forEach.call(document.querySelectorAll('form.look'), function (/** @type {HTMLFormElement} */ form) {
  let busy = false;
  form.addEventListener('submit', function (event) {
    event.preventDefault();
    // One more press while the camera warms up is the same wish.
    if (busy) {
      return;
    }
    busy = true;
    take(form).then(function () { busy = false; });
  });
});
