/**
 * A unit while it is being changed: the version it began from, the changes in
 * their order, and what comes of them. What is sent to the box are the changes,
 * never the whole unit, so that a file keeps its comments.
 *
 * A path is keys, and in a row the id of what is meant, or '#0' where it has
 * none.
 *
 * Not here: the page, and whether a change makes sense (the box says).
 */

import { addLanguage, removeLanguage } from './unit-languages.js';

/** @typedef {string[]} Path */
/** @typedef {{set: {at: Path, to: any}}} SetEdit */
/** @typedef {{add: {to: Path, value: any, before?: string}}} AddEdit */
/** @typedef {{remove: {at: Path}}} RemoveEdit */
/** @typedef {{move: {at: Path, before?: string}}} MoveEdit */
/** @typedef {{add_language: {language: string}} | {remove_language: {language: string}}} LanguageEdit */
/** @typedef {LanguageEdit | SetEdit | AddEdit | RemoveEdit | MoveEdit} Edit */

/** @param {any} value */
function copy(value) {
  return value === undefined ? undefined : JSON.parse(JSON.stringify(value));
}

/**
 * Where one of a row stands; -1 for nowhere.
 * @param {any[]} row
 * @param {string} which
 */
function placeIn(row, which) {
  if (which.charAt(0) === '#') {
    const at = Number(which.slice(1));
    return at < row.length ? at : -1;
  }
  return row.findIndex(function (one) { return one !== null && typeof one === 'object' && one.id === which; });
}

/**
 * What stands at a path; undefined for nothing.
 * @param {any} tree
 * @param {Path} path
 */
export function valueAt(tree, path) {
  let at = tree;
  for (const key of path) {
    if (at === null || typeof at !== 'object') return undefined;
    at = Array.isArray(at) ? at[placeIn(at, key)] : at[key];
  }
  return at;
}

/**
 * How one of a row is called in a path.
 * @param {any} one
 * @param {number} at
 */
export function nameInRow(one, at) {
  return one !== null && typeof one === 'object' && typeof one.id === 'string' ? one.id : '#' + at;
}

/**
 * Makes a change in a tree, as the box would. False where it cannot be made.
 * @param {any} tree
 * @param {Edit} edit
 * @returns {boolean}
 */
export function applyTo(tree, edit) {
  if ('add_language' in edit) return addLanguage(tree, edit.add_language.language);
  if ('remove_language' in edit) return removeLanguage(tree, edit.remove_language.language);
  if ('set' in edit) return set(tree, edit.set.at, edit.set.to);
  if ('add' in edit) {
    const above = valueAt(tree, edit.add.to.slice(0, -1));
    const name = edit.add.to[edit.add.to.length - 1];
    if (above === null || typeof above !== 'object' || Array.isArray(above)) return false;
    if (above[name] === undefined) above[name] = [];
    return insert(above[name], copy(edit.add.value), edit.add.before);
  }
  const at = 'remove' in edit ? edit.remove.at : edit.move.at;
  const rowPath = at.slice(0, -1);
  const row = valueAt(tree, rowPath);
  if (!Array.isArray(row)) return false;
  const place = placeIn(row, at[at.length - 1]);
  if (place < 0) return false;
  if ('move' in edit) {
    const before = edit.move.before;
    if (before !== undefined && placeIn(row, before) < 0) return false;
    const target = before === undefined ? row.length : placeIn(row, before);
    const one = row.splice(place, 1)[0];
    row.splice(target > place ? target - 1 : target, 0, one);
    return true;
  }
  row.splice(place, 1);
  // An empty row is a mistake; none at all is none.
  return row.length > 0 || set(tree, rowPath, null);
}

/**
 * @param {any} row
 * @param {any} value
 * @param {string | undefined} before
 */
function insert(row, value, before) {
  if (!Array.isArray(row)) return false;
  const at = before === undefined ? row.length : placeIn(row, before);
  if (at < 0) return false;
  row.splice(at, 0, value);
  return true;
}

/**
 * @param {any} tree
 * @param {Path} at
 * @param {any} to
 */
function set(tree, at, to) {
  const key = at[at.length - 1];
  const above = valueAt(tree, at.slice(0, -1));
  if (typeof above === 'string' && key.length === 2) {
    // A text in one language, written without saying which.
    return set(tree, at.slice(0, -1), to);
  }
  if (above === null || typeof above !== 'object') return false;
  const place = Array.isArray(above) ? placeIn(above, key) : key;
  if (place === -1) return false;
  if (to === null) {
    if (Array.isArray(above)) return false;
    delete above[key];
  } else {
    /** @type {any} */ (above)[place] = copy(to);
  }
  return true;
}

/** @param {Edit} edit */
function pathOf(edit) {
  return 'set' in edit ? edit.set.at : null;
}

export class Draft {
  /**
   * @param {string} version
   * @param {any} document
   * @param {Edit[]} [edits] changes that were made before
   */
  constructor(version, document, edits) {
    this.version = version;
    this.base = document;
    /** @type {Edit[]} */
    this.edits = [];
    this.document = copy(document);
    /** What could not be made again. @type {Edit[]} */
    this.lost = [];
    for (const edit of edits || []) {
      if (!this.make(edit)) this.lost.push(edit);
    }
  }

  /** There is something to save. */
  get dirty() { return this.edits.length > 0; }

  /**
   * Makes a change. Typing on in one field is one change.
   * @param {Edit} edit
   * @returns {boolean} false where it cannot be made
   */
  make(edit) {
    const last = this.edits[this.edits.length - 1];
    const path = pathOf(edit);
    const again = last && path && pathOf(last) && JSON.stringify(pathOf(last)) === JSON.stringify(path);
    if (!applyTo(this.document, edit)) return false;
    if (again) this.edits.pop();
    this.edits.push(copy(edit));
    return true;
  }

  /**
   * Takes the last change back.
   * @returns {boolean} whether there was one
   */
  undo() {
    if (this.edits.length === 0) return false;
    const before = this.edits.slice(0, -1);
    this.document = copy(this.base);
    this.edits = [];
    for (const edit of before) {
      applyTo(this.document, edit);
      this.edits.push(edit);
    }
    return true;
  }

  /**
   * The same changes on another version; what no longer fits is in `lost`.
   * @param {string} version
   * @param {any} document
   */
  onto(version, document) {
    return new Draft(version, document, this.edits);
  }
}

/**
 * What two versions say differently: each path with both values.
 * @param {any} ours
 * @param {any} theirs
 * @param {Path} [path]
 * @returns {{at: Path, ours: any, theirs: any}[]}
 */
export function differences(ours, theirs, path) {
  const at = path || [];
  if (JSON.stringify(ours) === JSON.stringify(theirs)) return [];
  const both = [ours, theirs].every(function (one) {
    return one !== null && typeof one === 'object' && !Array.isArray(one);
  });
  if (both) return inside(ours, theirs, Object.keys(Object.assign({}, ours, theirs)), at);
  if (Array.isArray(ours) && Array.isArray(theirs) && sameRow(ours, theirs)) {
    return inside(ours, theirs, ours.map(nameInRow), at);
  }
  return [{ at: at, ours: ours, theirs: theirs }];
}

/**
 * @param {any} ours
 * @param {any} theirs
 * @param {string[]} keys
 * @param {Path} at
 * @returns {{at: Path, ours: any, theirs: any}[]}
 */
function inside(ours, theirs, keys, at) {
  return keys.reduce(function (all, key) {
    const below = differences(valueAt(ours, [key]), valueAt(theirs, [key]), at.concat(key));
    return all.concat(below);
  }, /** @type {{at: Path, ours: any, theirs: any}[]} */ ([]));
}

/**
 * Whether two rows hold the same ones in the same order.
 * @param {any[]} a
 * @param {any[]} b
 */
function sameRow(a, b) {
  return a.length === b.length && a.every(function (one, i) { return nameInRow(one, i) === nameInRow(b[i], i); });
}

/**
 * The field nearest to a place: the longest of the paths that the place begins
 * with, or the first that begins with the place.
 * @param {Path} at
 * @param {Path[]} paths
 * @returns {number} which; -1 for none
 */
export function nearestField(at, paths) {
  let best = -1;
  for (let i = 0; i < paths.length; i += 1) {
    const path = paths[i];
    const within = path.length <= at.length && path.every(function (key, k) { return key === at[k]; });
    if (within && (best < 0 || path.length > paths[best].length)) best = i;
  }
  if (best >= 0) return best;
  return paths.findIndex(function (path) {
    return at.every(function (key, k) { return key === path[k]; });
  });
}
