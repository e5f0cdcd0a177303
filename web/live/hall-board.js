/**
 * What a board of the hall says in each phase: where each group begins, that
 * everybody goes one on, how much time is left.
 *
 * "One on" is never guessed: it is said only where every group does that, and
 * each way is the one its groups really go.
 *
 * Not here: drawing it (hall.js).
 */

import { refinementOf } from './refine.js';

/**
 * @typedef {import('./wire').Hall} Hall
 * @typedef {import('./wire').HallGroup} HallGroup
 * @typedef {import('./wire').SheetMark} SheetMark
 *
 * @typedef {object} Way
 * @property {SheetMark[]} groups
 * @property {SheetMark | null} from `null`: from where they rest, or from the warm-up
 * @property {SheetMark | null} to `null`: to rest
 *
 * @typedef {object} Board
 * @property {'none' | 'begin' | 'work' | 'last-turn' | 'gather' | 'walk' | 'closing'} mode
 * @property {Way[]} ways
 * @property {boolean} oneOn everybody goes to the next station, and the last goes to the first
 * @property {'freeze' | 'accident' | 'leave' | 'dark' | 'pause' | null} hold
 * @property {[string, string] | null} today a figure and its sentence: what to look for today
 */

/** @type {{[phase: string]: Board['mode']}} */
const MODES = {
  'warm_up': 'begin', 'briefing': 'begin', 'work': 'work', 'last_turn': 'last-turn',
  'gather': 'gather', 'walk': 'walk', 'closing': 'closing', 'done': 'none',
};

/**
 * @param {Hall | null} hall
 * @returns {Board}
 */
export function boardOf(hall) {
  const time = hall === null ? null : hall.time;
  if (hall === null || time === null) {
    return { mode: 'none', ways: [], oneOn: false, hold: null, today: null };
  }
  const mode = MODES[time.phase];
  return {
    mode: mode,
    ways: mode === 'closing' || mode === 'none' ? [] : waysOf(hall, mode),
    oneOn: mode === 'walk' && oneOn(hall),
    hold: time.hold,
    // Where it is told and where it is looked back on; no word more in between.
    today: mode === 'begin' || mode === 'closing' ? refinementOf(hall.refine) : null,
  };
}

/** @param {Hall} hall @param {Board['mode']} mode @returns {Way[]} */
function waysOf(hall, mode) {
  const mark = function (/** @type {number | null} */ number) {
    const found = hall.stations.filter(function (s) { return s.mark.number === number; })[0];
    return found === undefined ? null : found.mark;
  };
  /** @type {Way[]} */
  const ways = [];
  for (const group of hall.groups) {
    // Where they stand, or will at the first; in the walk, where they go.
    const from = mode === 'walk' ? mark(group.station) : null;
    const to = mark(mode === 'walk' ? group.next : group.station);
    const same = ways.filter(function (way) { return way.from === from && way.to === to; })[0];
    if (same) {
      same.groups.push(group.mark);
    } else {
      ways.push({ groups: [group.mark], from: from, to: to });
    }
  }
  const order = function (/** @type {Way} */ way) {
    const first = mode === 'walk' ? way.from : way.to;
    return first === null ? 1000 : hall.stations.map(function (s) { return s.mark; }).indexOf(first);
  };
  return ways.sort(function (a, b) { return order(a) - order(b); });
}

/**
 * Whether each group goes from its station to the next open one, the last to
 * the first.
 * @param {Hall} hall
 */
export function oneOn(hall) {
  const open = hall.stations.filter(function (s) { return !s.closed; }).map(function (s) { return s.mark.number; });
  return open.length > 1 && hall.groups.length > 0 && hall.groups.every(function (group) {
    const at = group.station === null ? -1 : open.indexOf(group.station);
    return at >= 0 && group.next === open[(at + 1) % open.length];
  });
}

/** @param {Board} board @returns {string} the sentence that heads it */
export function headOf(board) {
  if (board.hold !== null && board.hold !== 'pause') {
    return board.hold === 'dark' ? '' : 'live-card-' + board.hold;
  }
  if (board.mode === 'walk' && board.oneOn) {
    return 'live-hall-one-on';
  }
  /** @type {{[mode: string]: string}} */
  const heads = {
    'none': 'live-hall-none', 'begin': 'live-hall-begin', 'work': 'live-phase-work', 'last-turn': 'live-phase-last-turn',
    'gather': 'live-phase-gather', 'walk': 'live-phase-walk', 'closing': 'live-phase-closing',
  };
  return heads[board.mode];
}
