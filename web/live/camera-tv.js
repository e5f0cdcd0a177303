/**
 * A tablet wired to the TV is both: beside its station's TV page, which is on the
 * glass, it publishes. What it says is one line, and only while something is amiss.
 *
 * Not here: the TV page (tv.js) and publishing (publisher.js).
 */

import { Awake } from './device.js';
import { keptLens, openLens } from './lens.js';
import { part } from './page-parts.js';
import { Publisher, thisBrowser } from './publisher.js';
import { wordsFrom } from './words.js';

/** A camera that is not free now may be soon. */
const AGAIN_MS = 5000;

const words = wordsFrom(part('words-' + document.documentElement.lang).textContent || '{}');
const line = part('publishes');
const station = part('tv').getAttribute('data-station') || '';
const publisher = new Publisher(station, thisBrowser(), function (word) { say(word); });

/** @param {string} word */
function say(word) {
  line.hidden = word === 'on';
  const sentence = words('live-publish-' + word);
  if (line.textContent !== sentence) { line.textContent = sentence; }
}

function open() {
  openLens(keptLens()).then(function (stream) {
    const track = stream.getVideoTracks()[0];
    const video = /** @type {HTMLVideoElement} */ (part('own'));
    // Some browsers only take pictures from a camera that something shows.
    video.srcObject = stream;
    video.play().catch(function () { /* It publishes all the same. */ });
    track.addEventListener('ended', open);
    publisher.start(track);
  }).catch(function (why) {
    say(typeof why === 'string' ? why : 'no-camera');
    setTimeout(open, AGAIN_MS);
  });
}

new Awake(line, words).want(true);
open();
