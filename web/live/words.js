/**
 * The words this page may need, put there by the server in the page's own
 * language: a JSON block with the id `words`. A message's variables stand in
 * braces, `{seconds}`, and are filled in here.
 *
 * Not here: choosing a language, plurals (messages for scripts have none).
 */

/** Fluent wraps what it fills in with these, to keep right-to-left text apart. */
const ISOLATES = /[\u2066-\u2069]/g;

/**
 * Fills a message's variables in.
 * @param {string} text
 * @param {{[name: string]: string | number}} values
 */
export function fill(text, values) {
  return text.replace(ISOLATES, '').replace(/\{ ?\$?([a-z_]+) ?\}/g, function (whole, name) {
    return Object.prototype.hasOwnProperty.call(values, name) ? String(values[name]) : whole;
  });
}

/**
 * A function from a message's id to its text.
 * @param {string} json
 * @returns {(id: string, values?: {[name: string]: string | number}) => string}
 */
export function wordsFrom(json) {
  /** @type {{[id: string]: string}} */
  let all = {};
  try {
    all = JSON.parse(json);
  } catch (problem) {
    console.error('words unreadable', problem);
  }
  return function (id, values) {
    // A missing message shows its id: ugly, and found by the first who looks.
    const text = Object.prototype.hasOwnProperty.call(all, id) ? all[id] : id;
    return fill(text, values || {});
  };
}

/**
 * Seconds as people here write them. Spanish in the United States has a
 * decimal point; elsewhere a comma.
 * @param {number} ms
 * @param {string} lang
 */
export function seconds(ms, lang) {
  const place = lang === 'es' ? 'es-US' : lang;
  const s = ms / 1000;
  const digits = Number.isInteger(s) ? 0 : 1;
  return s.toLocaleString(place, { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false });
}
