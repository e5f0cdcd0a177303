/**
 * What a grade will see: each station with what stands there and what can be
 * chosen, and what is left out and why.
 *
 * Not here: deciding any of it (the box does).
 */

import { ASK_FIRST, WAYS, inLanguage } from './unit-fields.js';
import { make } from './page-parts.js';

/** @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words */

/**
 * A word of the box's in the page's language.
 * @param {[string, string][]} all
 * @param {string} name
 * @param {Words} words
 */
function named(all, name, words) {
  const one = all.find(function (pair) { return pair[0] === name; });
  return one ? words(one[1]) : name;
}

/**
 * @param {string} title
 * @param {string[]} lines
 */
function list(title, lines) {
  if (!lines.length) return [];
  return [make('p', { class: 'name' }, [title]), make('ul', {}, lines.map(function (line) { return make('li', {}, [line]); }))];
}

/**
 * Draws a room; nothing of a unit that cannot be used.
 * @param {HTMLElement} root
 * @param {any} room
 * @param {any} unit
 * @param {Words} words
 * @param {string} lang
 */
export function drawRoom(root, room, unit, words, lang) {
  while (root.lastChild) root.removeChild(root.lastChild);
  if (!room) {
    root.append(make('p', {}, [words('live-unit-no-room')]));
    return;
  }
  /** @param {any} text */
  const say = function (text) { return inLanguage(text, lang) || inLanguage(text, unit.languages[0]); };
  /** @param {any[]} all @param {string} key */
  const texts = function (all, key) { return all.map(function (one) { return say(one[key]); }); };
  room.stations.forEach(function (/** @type {any} */ station) {
    const is = station.details;
    const part = make('section', {}, [
      make('h3', {}, [words('live-unit-station', { number: is.mark.number, title: say(is.title) })]),
      make('p', {}, [say(is.task)]),
    ]);
    const kit = is.kit.map(function (/** @type {any} */ line) {
      const amount = line.amount.count !== undefined ? line.amount.count + ' ×' : line.amount.length_cm + ' cm:';
      return amount + ' ' + say(line.item);
    });
    const choices = texts(station.levels, 'title').concat(station.other_ways.map(function (/** @type {any} */ way) {
      return say(way.title) + ' (' + named(WAYS, way.way, words) + ')';
    }));
    /** @type {[string, string[]][]} */
    const lists = [
      [words('live-unit-choices'), choices],
      [words('live-unit-cues'), texts(station.cues, 'text')],
      [words('live-unit-kit'), kit],
      [words('live-unit-adult-hands'), is.adult_hands ? [say(is.no_spotter)] : []],
    ];
    lists.forEach(function (one) { list(one[0], one[1]).forEach(function (node) { part.append(node); }); });
    root.append(part);
  });
  root.append(leftOut(room, unit, say, words));
}

/**
 * @param {any} room
 * @param {any} unit
 * @param {(text: any) => string} say
 * @param {Words} words
 */
function leftOut(room, unit, say, words) {
  const lines = room.left_out.filter(function (/** @type {any} */ out) { return out.why !== 'grade'; });
  const part = make('section', {});
  list(words('live-unit-left-out'), lines.map(function (/** @type {any} */ out) {
    const station = unit.station.find(function (/** @type {any} */ one) { return one.id === out.station; }) || {};
    const rows = (station.level || []).concat(station.kit || []);
    const found = rows.find(function (/** @type {any} */ one) { return one.id === out.part; });
    const what = say(found ? found.title || found.item : station.title);
    const ask = out.why.ask_first;
    return ask ? words('live-unit-out-ask', { what: what, ask: named(ASK_FIRST, ask, words) }) : words('live-unit-out-after', { what: what });
  })).forEach(function (node) { part.append(node); });
  return part;
}
