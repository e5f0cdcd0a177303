/**
 * What a station's own TV shows in each phase: the picture with its sheet while
 * there is work, and otherwise a scene with the picture small beside it.
 *
 * Whom it is said to always stands with it, as the group's mark: a child of
 * another group who looks up is never sent the wrong way.
 *
 * Not here: drawing it (tv-phase.js), the picture.
 */

import { refinementOf } from './refine.js';

/**
 * @typedef {import('./wire').ScreenClass} ScreenClass
 * @typedef {import('./wire').Sheet} Sheet
 * @typedef {import('./wire').SheetMark} SheetMark
 *
 * @typedef {object} Row groups that go the same way
 * @property {SheetMark[]} groups
 * @property {SheetMark} from
 * @property {SheetMark | null} to `null`: to rest
 *
 * @typedef {object} Scene
 * @property {'turn' | 'gather' | 'walk' | 'briefing' | 'closing' | 'closed' | 'rest'} mode
 * @property {'last-turn' | 'pause' | null} sign
 * @property {Row[]} rows
 * @property {SheetMark[]} here who has its place here
 * @property {SheetMark[]} coming who comes here next
 * @property {[string, string][]} steps a figure, and the sentence that goes with it
 * @property {string} reset what is put right before leaving
 * @property {[string, string] | null} today a figure and its sentence: what to look for today
 */

/** After an attempt; the camera needs nothing else of a child. @type {[string, string][]} */
const BRIEFING = [
  ['run-up', 'live-step-go'],
  ['walk-this-way', 'live-step-walk'],
  ['sit-and-watch', 'live-step-watch'],
  ['listen', 'live-step-choose'],
];
/** @type {[string, string][]} */
const CLOSING = [['seated-reach', ''], ['straddle', '']];

/** @type {Scene} */
const NOTHING = { mode: 'turn', sign: null, rows: [], here: [], coming: [], steps: [], reset: '', today: null };

/**
 * @param {ScreenClass | null} c
 * @param {Sheet | null} sheet
 * @returns {Scene}
 */
export function sceneOf(c, sheet) {
  const time = c === null ? null : c.time;
  if (c === null || time === null || sheet === null) {
    return NOTHING;
  }
  const mark = function (/** @type {number} */ group) { return sheet.groups[group - 1]; };
  /** @type {Scene} */
  const scene = Object.assign({}, NOTHING, {
    sign: time.hold === 'pause' ? 'pause' : time.phase === 'last_turn' ? 'last-turn' : null,
    here: c.groups.map(function (g) { return mark(g.group); }),
    coming: c.coming.map(mark),
  });
  switch (time.phase) {
    case 'briefing':
      return Object.assign(scene, { mode: c.closed ? 'closed' : 'briefing', steps: BRIEFING, today: refinementOf(c.refine) });
    case 'gather':
      return c.groups.length === 0 && c.closed ? Object.assign(scene, { mode: 'closed' })
        : Object.assign(scene, { mode: 'gather', reset: sheet.task === null || c.closed ? '' : sheet.task.reset });
    case 'walk':
      return c.groups.length === 0 && c.coming.length === 0 && c.closed ? Object.assign(scene, { mode: 'closed' })
        : Object.assign(scene, { mode: 'walk', rows: rowsOf(c, sheet, mark) });
    case 'closing':
      return Object.assign(scene, { mode: 'closing', steps: CLOSING, today: refinementOf(c.refine) });
    default:
      return c.closed ? Object.assign(scene, { mode: c.groups.length > 0 ? 'rest' : 'closed' }) : scene;
  }
}

/**
 * @param {ScreenClass} c
 * @param {Sheet} sheet
 * @param {(group: number) => SheetMark} mark
 * @returns {Row[]}
 */
function rowsOf(c, sheet, mark) {
  /** @type {Row[]} */
  const rows = [];
  for (const group of c.groups) {
    const to = sheet.stations.filter(function (s) { return s.number === group.next; })[0] || null;
    const same = rows.filter(function (row) { return row.to === to; })[0];
    if (same) {
      same.groups.push(mark(group.group));
    } else {
      rows.push({ groups: [mark(group.group)], from: sheet.mark, to: to });
    }
  }
  return rows;
}

/**
 * The scene's heading.
 * @param {Scene} scene
 * @param {(id: string, values?: {[name: string]: string | number}) => string} words
 */
export function headingOf(scene, words) {
  if (scene.mode === 'walk') {
    return scene.rows.map(function (row) { return rowInWords(row, words); }).join(' ');
  }
  /** @type {{[mode: string]: string}} */
  const ids = {
    'gather': 'live-phase-gather', 'briefing': 'live-phase-briefing', 'closing': 'live-phase-closing',
    'closed': 'live-scene-closed', 'rest': 'live-station-rest',
  };
  return ids[scene.mode] === undefined ? '' : words(ids[scene.mode]);
}

/**
 * @param {Row} row
 * @param {(id: string, values?: {[name: string]: string | number}) => string} words
 */
function rowInWords(row, words) {
  const groups = row.groups.map(function (g) { return g.number; }).join(', ');
  return row.to === null ? words('live-row-rest', { groups: groups })
    : words('live-row-walk', { groups: groups, station: row.to.number });
}

/**
 * How much of a phase is left, 1 to 0.
 * @param {import('./wire').ClassTime | null} time
 * @param {number} leftMs
 */
export function shareLeft(time, leftMs) {
  return time === null || time.whole_ms === 0 ? null : Math.max(0, Math.min(1, leftMs / time.whole_ms));
}
