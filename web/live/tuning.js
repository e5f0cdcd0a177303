/**
 * What a class has otherwise than the unit, as the remote says it: which cue the
 * TV shows, what was set for whom, and what is asked once the class is over.
 *
 * Not here: the page, the network, what follows from a press (the server).
 */

import { seconds } from './words.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').InBoth} InBoth
 * @typedef {import('./wire').KeepAsk} KeepAsk
 * @typedef {import('./wire').KeepFor} KeepFor
 * @typedef {import('./wire').KeepOffer} KeepOffer
 * @typedef {import('./wire').Showing} Showing
 * @typedef {import('./wire').StationCues} StationCues
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/** @param {InBoth} both @param {string} lang */
export function inOf(both, lang) {
  return lang === 'es' ? both.es : both.en;
}

/**
 * The cues of a station that can be chosen now: none without a class, since a
 * chosen cue is a class's.
 * @param {Showing | null} showing
 * @param {ClassInfo | null} info
 * @param {number} station
 * @returns {StationCues | null}
 */
export function cuesAt(showing, info, station) {
  if (showing === null || info === null || info.class === null) {
    return null;
  }
  return showing.cues.filter(function (at) { return at.station === station; })[0] || null;
}

/**
 * A button for each cue, and first the one that sets it free.
 * @param {StationCues} at
 * @param {string} lang
 * @param {Words} words
 * @returns {{cue: string | null, label: string, chosen: boolean}[]}
 */
export function cueButtons(at, lang, words) {
  const planned = at.cues.filter(function (cue) { return cue.id === at.planned; })[0];
  const first = words('live-cue-planned', { cue: planned === undefined ? '–' : inOf(planned.text, lang) });
  return [{ cue: /** @type {string | null} */ (null), label: first, chosen: at.pinned === null }]
    .concat(at.cues.map(function (cue) { return { cue: cue.id, label: inOf(cue.text, lang), chosen: cue.id === at.pinned }; }));
}

/**
 * What is said of a delay that was set: for this class, if it is one's.
 * @param {ClassInfo | null} info
 * @param {number} ms
 * @param {string} lang
 * @param {Words} words
 */
export function delaySet(info, ms, lang, words) {
  const own = info === null || info.class === null || info.class.demo ? null : info.class.title;
  return own === null
    ? words('live-remote-set', { seconds: seconds(ms, lang) })
    : words('live-remote-set-class', { class: own, seconds: seconds(ms, lang) });
}

/**
 * What a class had otherwise, in a line.
 * @param {KeepOffer} offer
 * @param {string} lang
 * @param {Words} words
 */
export function offerSaid(offer, lang, words) {
  const is = offer.otherwise;
  if (is.what === 'delay') {
    return words('live-kept-delay', { seconds: seconds(is.delay_ms, lang), planned: seconds(is.planned_ms, lang) });
  }
  return words('live-kept-cue', { cue: inOf(is.cue, lang), planned: is.planned === null ? '–' : inOf(is.planned, lang) });
}

/**
 * What can be said to it, in the order of the buttons.
 * @param {KeepOffer} offer
 * @returns {KeepFor[]}
 */
export function answersTo(offer) {
  return offer.for_everybody ? ['everybody', 'class', 'nobody'] : ['class', 'nobody'];
}

/**
 * @param {KeepOffer} offer
 * @param {KeepFor} keep
 * @returns {KeepAsk}
 */
export function askOf(offer, keep) {
  /** @type {KeepAsk} */
  const ask = { class: offer.class, station: offer.station, what: offer.otherwise.what, keep: keep };
  return offer.version === null ? ask : Object.assign(ask, { version: offer.version });
}

/** Whether offers are to be asked for: not while a class runs. @param {ClassInfo} info */
export function mayOffer(info) {
  return info.asks === null && (info.class === null || info.class.demo);
}
