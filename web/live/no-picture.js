/**
 * Why a camera gives no picture, in a sentence that says what to do.
 *
 * Not here: the page it stands on (cameras.js).
 */

/** What the box answers where it has no picture (RFC 9457, with one word more). */
const WHYS = {
  'unplugged': 'live-no-picture-unplugged',
  'forbidden': 'live-no-picture-forbidden',
  'busy': 'live-no-picture-busy',
  'no-room': 'live-no-picture-no-room',
  'no-form': 'live-no-picture-no-form',
  'no-camera': 'live-no-picture-no-camera',
  'silent': 'live-no-picture-silent',
  'missing-part': 'live-no-picture-missing-part',
  'in-use': 'live-no-picture-in-use',
  'off': 'live-no-picture-off',
  'class': 'live-no-picture-class',
};

/**
 * @param {unknown} problem what the box said; null if nothing could be read
 * @param {(id: string) => string} words
 */
export function noPicture(problem, words) {
  const said = /** @type {{why?: unknown, status?: unknown}} */ (problem || {});
  if (typeof said.why === 'string' && Object.prototype.hasOwnProperty.call(WHYS, said.why)) {
    return words(WHYS[/** @type {keyof typeof WHYS} */ (said.why)]);
  }
  // It was there when the page was made.
  return words(said.status === 404 ? WHYS.unplugged : 'live-no-picture-no-answer');
}
