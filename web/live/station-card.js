/**
 * What the class means for one station's card on the remote: who is there, and
 * the presses that need a station or a group.
 *
 * Not here: the station's delay, its camera, its orders.
 */

import { made, text } from './remote-parts.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').GroupInfo} GroupInfo
 * @typedef {import('./wire').Press} Press
 * @typedef {import('./wire').ClassChange} ClassChange
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/**
 * The groups that have their place at a station now.
 * @param {ClassInfo} info
 * @param {number} station
 * @returns {GroupInfo[]}
 */
export function groupsAt(info, station) {
  return info.class === null ? [] : info.class.groups.filter(function (g) { return g.station === station && g.children > 0; });
}

/**
 * Who is at a station, in a line.
 * @param {ClassInfo} info
 * @param {number} station
 * @param {Words} words
 */
export function hereLine(info, station, words) {
  if (info.class === null) {
    return '';
  }
  const own = info.class.stations.filter(function (s) { return s.number === station; })[0];
  if (own === undefined || own.closed) {
    return words('live-station-closed');
  }
  const quiet = own.quiet ? [words('live-station-quiet')] : [];
  const groups = groupsAt(info, station).map(function (g) {
    return words(g.covered ? 'live-station-group-covered' : 'live-station-group', { group: g.group, children: g.children });
  });
  if (own.floor) {
    groups.push(words('live-station-floor'));
  }
  return (groups.length === 0 ? [words('live-station-empty')] : groups).concat(quiet).join(' · ');
}

/**
 * The presses a card offers: close or open, and cover who is there.
 * @param {ClassInfo} info
 * @param {number} station
 * @param {boolean} leads whether whoever asks may move the class's stations
 * @returns {{press: Press, id: string, values: {[name: string]: number}}[]}
 */
export function offers(info, station, leads) {
  /** @type {{press: Press, id: string, values: {[name: string]: number}}[]} */
  const all = groupsAt(info, station).filter(function (g) { return !g.covered; }).map(function (g) {
    return { press: { press: 'cover_group', group: g.group }, id: 'live-cover-group', values: { group: g.group } };
  });
  const own = info.class === null ? undefined : info.class.stations.filter(function (s) { return s.number === station; })[0];
  if (own === undefined || !own.in_circuit || !leads) {
    return all;
  }
  return all.concat([own.closed
    ? { press: { press: 'open', station: station }, id: 'live-open-station', values: { station: station } }
    : { press: { press: 'close', station: station }, id: 'live-close-station', values: { station: station } }]);
}

/**
 * What a card offers about pictures of the station itself; nothing where the
 * whole class goes without.
 * @param {ClassInfo} info
 * @param {number} station
 * @returns {{change: ClassChange, id: string, values: {[name: string]: number}}[]}
 */
export function quietOffer(info, station) {
  const own = info.class === null || info.class.quiet ? undefined : info.class.stations.filter(function (s) { return s.number === station; })[0];
  return own === undefined ? [] : [{
    change: { change: 'station_quiet', station: station, on: !own.quiet },
    id: own.quiet ? 'live-quiet-over' : 'live-quiet-station', values: { station: station },
  }];
}

export class Card {
  /**
   * @param {HTMLElement} item
   * @param {number} number
   * @param {boolean} leads
   * @param {Words} words
   * @param {(press: Press, label: string) => void} press
   * @param {(change: ClassChange, label: string) => void} change
   */
  constructor(item, number, leads, words, press, change) {
    this.number = number;
    this.leads = leads;
    this.words = words;
    this.press = press;
    this.change = change;
    this.here = /** @type {HTMLElement} */ (item.querySelector('.here'));
    this.setup = /** @type {HTMLElement} */ (item.querySelector('.class-setup'));
    this.place = /** @type {HTMLElement} */ (item.querySelector('.class-presses'));
    this.said = '';
  }

  /** @param {ClassInfo} info */
  heard(info) {
    text(this.here, hereLine(info, this.number, this.words));
    const own = info.class === null ? undefined : info.class.stations.filter((s) => s.number === this.number)[0];
    text(this.setup, own === undefined || own.setup === '' ? '' : this.words('live-station-setup', { setup: own.setup }));
    const all = offers(info, this.number, this.leads);
    const quiet = quietOffer(info, this.number);
    const said = JSON.stringify([all, quiet]);
    if (said === this.said) {
      return;
    }
    this.said = said;
    this.place.textContent = '';
    all.forEach((one) => { this.button(this.words(one.id, one.values), (label) => { this.press(one.press, label); }); });
    quiet.forEach((one) => { this.button(this.words(one.id, one.values), (label) => { this.change(one.change, label); }); });
  }

  /** @param {string} label @param {(label: string) => void} act */
  button(label, act) {
    const button = made('button', '', label);
    button.setAttribute('type', 'button');
    button.addEventListener('click', function () { act(label); });
    this.place.appendChild(button);
  }
}
