/**
 * A code as people read one aloud, and as an address carries it.
 *
 * Not here: where it comes from, what it is good for.
 */

/**
 * In groups of three, as one says it.
 * @param {string} code
 */
export function spacedCode(code) {
  return code.replace(/(.{3})(?=.)/g, '$1 ');
}

/**
 * The code behind the `#` of an address that was photographed from a screen;
 * empty where there is none. Whatever else stands there is nobody's code.
 * @param {string} hash as `location.hash` has it
 */
export function codeIn(hash) {
  const found = /^#([0-9A-Za-z]{6})$/.exec(hash);
  return found ? found[1].toUpperCase() : '';
}
