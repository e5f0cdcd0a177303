/**
 * Which of the teacher's files comes next: in the order of the list, round and
 * round, without those that the browser could not play.
 *
 * Not here: playing them (tracks.js).
 */

/**
 * @typedef {object} List
 * @property {number} listing which list of the box's it is
 * @property {number} count how many files
 * @property {number} at the one that plays, or is next
 * @property {number[]} failed those that could not be played
 */

/** @type {List} */
export const NONE = { listing: 0, count: 0, at: 0, failed: [] };

/**
 * The same list goes on where it is; another begins with its first.
 * @param {List} list
 * @param {number} listing
 * @param {number} count
 * @returns {List}
 */
export function heardOf(list, listing, count) {
  return list.listing === listing && list.count === count ? list : { listing: listing, count: count, at: 0, failed: [] };
}

/** Whether there is one left that may be played. @param {List} list */
export function any(list) {
  return list.count > list.failed.length;
}

/**
 * One on; nowhere where there is none.
 * @param {List} list
 * @returns {List}
 */
export function after(list) {
  for (let step = 1; step <= list.count; step += 1) {
    const at = (list.at + step) % list.count;
    if (list.failed.indexOf(at) < 0) {
      return Object.assign({}, list, { at: at });
    }
  }
  return list;
}

/**
 * The one that was to play could not be played.
 * @param {List} list
 * @returns {List}
 */
export function without(list) {
  const failed = list.failed.indexOf(list.at) < 0 ? list.failed.concat([list.at]) : list.failed;
  return after(Object.assign({}, list, { failed: failed }));
}

/** Where it is. @param {List} list */
export function address(list) {
  return '/api/sound/files/' + list.listing + '/' + list.at;
}
