/**
 * The fields of a unit: which keys there are, what each holds, what it is
 * called. The limits themselves are the box's.
 *
 * Not here: the page.
 */

/**
 * @typedef {'text' | 'long' | 'number' | 'seconds' | 'flag' | 'choice' | 'grades' | 'name' | 'texts' | 'level' | 'offer' | 'picture'} Kind
 * @typedef {{key: string, kind: Kind, label: string, options?: [string, string][], items?: string, add?: string}} Field
 * @typedef {{key: string, label: string, one: string, add: string, fields: Field[], fresh: any}} Row
 */

/** @type {[string, string][]} */
const SHAPES = [
  ['disc', 'live-unit-shape-disc'], ['square', 'live-unit-shape-square'],
  ['triangle', 'live-unit-shape-triangle'], ['diamond', 'live-unit-shape-diamond'],
  ['star', 'live-unit-shape-star'], ['ring', 'live-unit-shape-ring'],
  ['cross', 'live-unit-shape-cross'], ['hexagon', 'live-unit-shape-hexagon'],
];
/** @type {[string, string][]} */
const COLOURS = [
  ['black', 'live-unit-colour-black'], ['orange', 'live-unit-colour-orange'],
  ['sky-blue', 'live-unit-colour-sky-blue'], ['green', 'live-unit-colour-green'],
  ['yellow', 'live-unit-colour-yellow'], ['blue', 'live-unit-colour-blue'],
  ['vermilion', 'live-unit-colour-vermilion'], ['purple', 'live-unit-colour-purple'],
];
/** @type {[string, string][]} */
export const ASK_FIRST = [
  ['mini-trampoline', 'live-unit-ask-mini-trampoline'], ['swing-rope', 'live-unit-ask-swing-rope'],
  ['climbing-wall', 'live-unit-ask-climbing-wall'], ['inversions', 'live-unit-ask-inversions'],
];
/** @type {[string, string][]} */
export const WAYS = [
  ['on-the-line', 'live-unit-way-on-the-line'], ['with-support', 'live-unit-way-with-support'],
  ['seated', 'live-unit-way-seated'],
];

/** What a unit can be in. @type {[string, string][]} */
export const LANGUAGES = [['en', 'live-unit-language-en'], ['es', 'live-unit-language-es']];

/** What a station is, and what may differ in a band. @type {Field[]} */
export const DETAILS = [
  { key: 'number', kind: 'number', label: 'live-unit-number' },
  { key: 'shape', kind: 'choice', label: 'live-unit-shape', options: SHAPES },
  { key: 'colour', kind: 'choice', label: 'live-unit-colour', options: COLOURS },
  { key: 'title', kind: 'text', label: 'live-unit-title' },
  { key: 'task', kind: 'long', label: 'live-unit-task' },
  { key: 'lanes', kind: 'number', label: 'live-unit-lanes' },
  { key: 'watch_from', kind: 'text', label: 'live-unit-watch-from' },
  { key: 'hold_s', kind: 'number', label: 'live-unit-hold' },
  { key: 'delay_ms', kind: 'seconds', label: 'live-unit-delay' },
  { key: 'one_way', kind: 'flag', label: 'live-unit-one-way' },
  { key: 'reset', kind: 'long', label: 'live-unit-reset' },
  { key: 'reminders', kind: 'texts', label: 'live-unit-reminders', items: 'live-unit-reminder', add: 'live-unit-add-reminder' },
  { key: 'cautions', kind: 'texts', label: 'live-unit-cautions', items: 'live-unit-caution', add: 'live-unit-add-caution' },
  { key: 'board', kind: 'flag', label: 'live-unit-board' },
  { key: 'in_pairs', kind: 'flag', label: 'live-unit-in-pairs' },
  { key: 'adult_hands', kind: 'flag', label: 'live-unit-adult-hands' },
  { key: 'no_spotter', kind: 'long', label: 'live-unit-no-spotter' },
];

/** @type {Field} */
const GRADES = { key: 'grades', kind: 'grades', label: 'live-unit-grades' };
/** @type {Field} */
const ASK = { key: 'ask_first', kind: 'choice', label: 'live-unit-ask-first', options: ASK_FIRST };
/** @type {Field} */
const FIGURE = { key: 'figure', kind: 'name', label: 'live-unit-figure' };
/** @type {Field} */
const PICTURE = { key: 'picture', kind: 'picture', label: 'live-unit-picture' };

/** What a station alone has. @type {Field[]} */
export const OF_STATION = [GRADES, ASK];

/** @type {Row} */
export const KIT = {
  key: 'kit', label: 'live-unit-kit', one: 'live-unit-kit-line', add: 'live-unit-add-kit',
  fields: [
    { key: 'item', kind: 'text', label: 'live-unit-item' },
    { key: 'count', kind: 'number', label: 'live-unit-count' },
    { key: 'length_cm', kind: 'number', label: 'live-unit-length' },
    ASK,
  ],
  fresh: { item: '', count: 1 },
};

/** The rows of a station, bands aside. @type {Row[]} */
export const ROWS = [
  KIT,
  {
    key: 'level', label: 'live-unit-levels', one: 'live-unit-level', add: 'live-unit-add-level',
    fields: [
      { key: 'title', kind: 'text', label: 'live-unit-what-to-do' }, GRADES,
      { key: 'after', kind: 'level', label: 'live-unit-after' }, ASK, FIGURE, PICTURE,
    ],
    fresh: { title: '' },
  },
  {
    key: 'other_way', label: 'live-unit-other-ways', one: 'live-unit-other-way', add: 'live-unit-add-other-way',
    fields: [
      { key: 'way', kind: 'choice', label: 'live-unit-way', options: WAYS },
      { key: 'title', kind: 'text', label: 'live-unit-what-to-do' }, GRADES, FIGURE, PICTURE,
    ],
    fresh: { way: 'seated', title: '' },
  },
  {
    key: 'cue', label: 'live-unit-cues', one: 'live-unit-cue', add: 'live-unit-add-cue',
    fields: [
      { key: 'text', kind: 'text', label: 'live-unit-words' }, GRADES,
      { key: 'of', kind: 'offer', label: 'live-unit-of' }, FIGURE, PICTURE,
    ],
    fresh: { text: '' },
  },
];

/** @type {Row} */
export const BAND = {
  key: 'band', label: 'live-unit-bands', one: 'live-unit-band', add: 'live-unit-add-band',
  fields: [GRADES], fresh: { grades: 'K' },
};

/** @type {Row} */
export const PERMISSION = {
  key: 'permission', label: 'live-unit-permissions', one: 'live-unit-permission', add: 'live-unit-add-permission',
  fields: [
    { key: 'what', kind: 'choice', label: 'live-unit-permitted', options: ASK_FIRST },
    { key: 'place', kind: 'name', label: 'live-unit-place' },
    { key: 'by', kind: 'name', label: 'live-unit-by' },
    { key: 'on', kind: 'name', label: 'live-unit-on' },
  ],
  fresh: { what: 'inversions', place: '', by: '', on: '' },
};

const YEARS = ['K', '1', '2', '3', '4', '5'];

/** Every run of grades, as a unit file has it. @type {string[]} */
export const RUNS = YEARS.reduce(function (all, first, i) {
  return all.concat(YEARS.slice(i).map(function (last) { return first === last ? first : first + '-' + last; }));
}, /** @type {string[]} */ ([]));

export const GRADE_NAMES = YEARS;

/**
 * What was typed, as the file has it: a number where it is one, else the typing
 * itself, which the box will object to; nothing typed is no value.
 * @param {string} typed
 * @param {'number' | 'seconds'} kind
 * @returns {number | string | null}
 */
export function numberTyped(typed, kind) {
  const text = typed.trim().replace(',', '.');
  if (text === '') return null;
  const good = kind === 'seconds' ? /^\d+(\.\d+)?$/.test(text) : /^\d+$/.test(text);
  if (!good) return typed;
  return kind === 'seconds' ? Math.round(Number(text) * 1000) : Number(text);
}

/**
 * A value as it is shown in a field for numbers.
 * @param {any} value
 * @param {'number' | 'seconds'} kind
 */
export function numberShown(value, kind) {
  if (value === undefined || value === null) return '';
  return kind === 'seconds' && typeof value === 'number' ? String(value / 1000) : String(value);
}

/**
 * A text in one language.
 * @param {any} text
 * @param {string} language
 */
export function inLanguage(text, language) {
  if (typeof text === 'string') return text;
  return text !== null && typeof text === 'object' && typeof text[language] === 'string' ? text[language] : '';
}

/**
 * The change that typing in one language of a text makes: of a text that is not
 * there yet, the whole; of one that is left empty in each language, none is left.
 * @param {string[]} path the text's
 * @param {any} text as it is
 * @param {string} language
 * @param {string} typed
 * @param {boolean} needed it cannot be left out
 * @returns {{set: {at: string[], to: any}}}
 */
export function textEdit(path, text, language, typed, needed) {
  if (typeof text === 'string') return { set: { at: path, to: typed } };
  if (text === undefined || text === null) {
    /** @type {{[language: string]: string}} */
    const first = {};
    first[language] = typed;
    return { set: { at: path, to: first } };
  }
  const others = Object.keys(text).filter(function (other) { return other !== language && text[other] !== ''; });
  if (typed === '' && others.length === 0 && !needed) return { set: { at: path, to: null } };
  return { set: { at: path.concat(language), to: typed } };
}

/**
 * A new one of a row, with its texts in each language.
 * @param {any} fresh
 * @param {string[]} languages
 */
export function freshOne(fresh, languages) {
  /** @type {{[key: string]: any}} */
  const one = {};
  Object.keys(fresh).forEach(function (key) {
    const value = fresh[key];
    const isText = value === '' && ['item', 'title', 'text'].indexOf(key) >= 0;
    one[key] = isText ? emptyText(languages) : value;
  });
  return one;
}

/** @param {string[]} languages */
export function emptyText(languages) {
  /** @type {{[language: string]: string}} */
  const text = {};
  languages.forEach(function (language) { text[language] = ''; });
  return text;
}

/**
 * A new station: a number and a mark that no other has.
 * @param {any[]} stations
 * @param {string[]} languages
 */
export function freshStation(stations, languages) {
  /** @param {string} key */
  const used = function (key) { return stations.map(function (one) { return one[key]; }); };
  /** @param {[string, string][]} all @param {string} key */
  const free = function (all, key) {
    const names = all.map(function (one) { return one[0]; });
    const left = names.filter(function (name) { return used(key).indexOf(name) < 0; });
    return left.length ? left[0] : names[0];
  };
  const text = function () { return emptyText(languages); };
  const numbers = used('number').filter(function (n) { return typeof n === 'number'; });
  return {
    number: Math.max.apply(null, [0].concat(numbers)) + 1,
    shape: free(SHAPES, 'shape'), colour: free(COLOURS, 'colour'),
    title: text(), task: text(), watch_from: text(), reset: text(),
    level: [{ title: text() }],
    other_way: [{ way: 'seated', title: text() }],
    cue: [{ text: text() }],
  };
}
