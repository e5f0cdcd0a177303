/**
 * The corners of a mat: read, moved, written. Knows no page.
 *
 * Not here: what makes corners a mat (the box says), and drawing them.
 */

/** A picture's width and height, as corners count them. */
export const WHOLE = 10000;

/** What an arrow key moves, and with the shift key. */
export const STEP = 50;
export const LARGE_STEP = 500;

/** @typedef {{x: number, y: number}} Corner */

/**
 * The corners a field holds; none if it holds something else.
 * @param {string} text
 * @returns {Corner[] | null}
 */
export function read(text) {
  /** @type {unknown} */
  let value;
  try {
    value = JSON.parse(text);
  } catch (_) {
    return null;
  }
  if (!Array.isArray(value) || value.length < 3) {
    return null;
  }
  const good = value.every(function (one) {
    return one !== null && typeof one === 'object' && Number.isInteger(one.x) && Number.isInteger(one.y);
  });
  return good ? value.map(function (one) { return within({ x: one.x, y: one.y }); }) : null;
}

/**
 * @param {Corner[]} corners
 * @returns {string}
 */
export function written(corners) {
  return JSON.stringify(corners.map(function (c) { return { x: c.x, y: c.y }; }));
}

/**
 * A corner inside the picture.
 * @param {Corner} corner
 * @returns {Corner}
 */
export function within(corner) {
  const bound = function (/** @type {number} */ n) { return Math.min(WHOLE, Math.max(0, Math.round(n))); };
  return { x: bound(corner.x), y: bound(corner.y) };
}

/**
 * The corners with one of them elsewhere.
 * @param {Corner[]} corners
 * @param {number} index
 * @param {Corner} to
 * @returns {Corner[]}
 */
export function moved(corners, index, to) {
  return corners.map(function (corner, i) { return i === index ? within(to) : corner; });
}

/**
 * Where a key moves a corner; nowhere for another key.
 * @param {Corner} corner
 * @param {string} key
 * @param {boolean} large
 * @returns {Corner | null}
 */
export function byKey(corner, key, large) {
  const step = large ? LARGE_STEP : STEP;
  switch (key) {
    case 'ArrowLeft': return within({ x: corner.x - step, y: corner.y });
    case 'ArrowRight': return within({ x: corner.x + step, y: corner.y });
    case 'ArrowUp': return within({ x: corner.x, y: corner.y - step });
    case 'ArrowDown': return within({ x: corner.x, y: corner.y + step });
    default: return null;
  }
}

/**
 * What is covered, as a path: the whole picture with the mat as a hole.
 * @param {Corner[]} corners
 * @returns {string}
 */
export function around(corners) {
  const points = corners.map(function (c) { return c.x + ' ' + c.y; });
  return 'M0 0H' + WHOLE + 'V' + WHOLE + 'H0Z M' + points.join('L') + 'Z';
}
