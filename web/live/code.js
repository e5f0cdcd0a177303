/**
 * A code as people read one aloud. Not here: where it comes from.
 */

/**
 * In groups of three, as one says it.
 * @param {string} code
 */
export function spacedCode(code) {
  return code.replace(/(.{3})(?=.)/g, '$1 ');
}
