/**
 * A unit gets one more language, or one less: what the box does to the file, done
 * to the unit as it is shown.
 *
 * Not here: the page.
 */

const TEXTS = ['title', 'task', 'watch_from', 'reset', 'no_spotter', 'item', 'text'];
const LISTS = ['reminders', 'cautions'];

/**
 * @param {any} tree
 * @param {string} language
 * @returns {boolean} false where the unit has it already
 */
export function addLanguage(tree, language) {
  if (!Array.isArray(tree.languages) || tree.languages.length === 0 || tree.languages.indexOf(language) >= 0) return false;
  const first = tree.languages[0];
  tree.languages.push(language);
  eachText(tree, function (text) {
    const old = typeof text === 'string' ? text : text[first] || text[Object.keys(text)[0]] || '';
    /** @type {{[language: string]: string}} */
    const more = typeof text === 'string' ? {} : text;
    if (typeof text === 'string') more[first] = text;
    if (more[language] === undefined) more[language] = old;
    return more;
  });
  return true;
}

/**
 * @param {any} tree
 * @param {string} language
 * @returns {boolean} false where the unit does not have it, or no other
 */
export function removeLanguage(tree, language) {
  const at = Array.isArray(tree.languages) ? tree.languages.indexOf(language) : -1;
  if (at < 0 || tree.languages.length < 2) return false;
  tree.languages.splice(at, 1);
  eachText(tree, function (text) {
    if (typeof text !== 'string') delete text[language];
    return text;
  });
  return true;
}

/**
 * @param {any} tree
 * @param {(text: any) => any} work
 */
function eachText(tree, work) {
  Object.keys(tree).forEach(function (key) {
    const value = tree[key];
    if (value === null || value === undefined) return;
    if (TEXTS.indexOf(key) >= 0) tree[key] = work(value);
    else if (LISTS.indexOf(key) >= 0 && Array.isArray(value)) tree[key] = value.map(work);
    else if (typeof value === 'object') eachText(value, work);
  });
}
