/**
 * What start works out for itself: which class is offered, how the children are
 * spread, how long it all takes, what it sends.
 *
 * Not here: the page; what becomes of it (the server).
 */

/**
 * @typedef {import('./wire').StartInfo} StartInfo
 * @typedef {import('./wire').KnownClass} KnownClass
 * @typedef {import('./wire').StartStation} StartStation
 * @typedef {import('./wire').Times} Times
 *
 * @typedef {object} Draft what somebody is about to start
 * @property {string} title
 * @property {number | null} grade
 * @property {number} children
 * @property {number | null} groups `null`: as many as stations are open
 * @property {number[] | null} notShown `null`: nobody has said
 * @property {number[]} ticked
 * @property {number[]} asItStands
 * @property {boolean} noSpotter
 * @property {boolean} anew
 * @property {boolean} cameraBriefing
 * @property {boolean} quiet
 * @property {import('./wire').Refinement | null} refine
 * @property {Times} times
 */

/** As many as a usual class has; common practice, no source. */
const USUAL_CHILDREN = 24;
const CAMERA_BRIEFING_S = 60;

/**
 * A draft for a class: as it was last, or from nothing.
 * @param {StartInfo} info
 * @param {KnownClass | null} known
 * @param {string} title
 * @returns {Draft}
 */
export function draftOf(info, known, title) {
  return {
    title: known === null ? title : known.title,
    grade: known === null ? gradeIn(title) : known.grade,
    children: known === null ? USUAL_CHILDREN : known.children,
    groups: known === null ? null : known.groups,
    notShown: known === null ? null : known.not_shown,
    ticked: [],
    asItStands: [],
    noSpotter: false,
    anew: goesOnWith(known) === null,
    cameraBriefing: info.classes.length === 0,
    quiet: false,
    refine: null,
    times: known === null ? info.times : known.times,
  };
}

/**
 * The turn a circuit goes on with; one of which nothing was done begins anew.
 * @param {KnownClass | null} known
 */
export function goesOnWith(known) {
  return known === null || known.goes_on_with === null || known.goes_on_with <= 1 ? null : known.goes_on_with;
}

/**
 * "3B" and "KA" say their grade.
 * @param {string} title
 * @returns {number | null}
 */
export function gradeIn(title) {
  if (/^\s*K[-\s]?[0-9A-Z]?\s*$/i.test(title)) { return 0; }
  const match = /^\s*([1-5])(?![0-9])/.exec(title);
  return match === null ? null : Number(match[1]);
}

/**
 * The stations a grade finds.
 * @param {StartInfo} info
 * @param {number | null} grade
 * @returns {StartStation[]}
 */
export function stationsFor(info, grade) {
  const found = info.grades.filter(function (one) { return one.grade === grade; })[0];
  return found === undefined ? [] : found.stations;
}

/**
 * Which stations are open as things are ticked.
 * @param {StartStation[]} stations
 * @param {Draft} draft
 */
export function openStations(stations, draft) {
  return stations.filter(function (s) {
    const stands = s.change === null || draft.ticked.indexOf(s.number) >= 0
      || (s.change.easier_as_it_stands && draft.asItStands.indexOf(s.number) >= 0);
    return stands && !(draft.noSpotter && s.hands === 'close');
  });
}

/**
 * How the children are spread, as the server does it: as even as can be, and
 * nobody alone in a group where a station is in pairs.
 * @param {number} children
 * @param {number} groups
 * @param {boolean} inPairs
 * @returns {number[]}
 */
export function spread(children, groups, inPairs) {
  const most = inPairs ? Math.max(1, Math.floor(children / 2)) : children;
  const filled = Math.min(groups, most, children);
  /** @type {number[]} */
  const all = [];
  for (let group = 0; group < groups; group += 1) {
    all.push(group >= filled ? 0 : Math.floor(children / filled) + (group < children % filled ? 1 : 0));
  }
  return all;
}

/**
 * The sizes in few words: `[[3, 8]]` is eight groups of three.
 * @param {number[]} sizes
 * @returns {[number, number][]} size and how many, the largest first
 */
export function sizesSaid(sizes) {
  /** @type {[number, number][]} */
  const said = [];
  sizes.forEach(function (size) {
    const same = said.filter(function (one) { return one[0] === size; })[0];
    if (same === undefined) { said.push([size, 1]); } else { same[1] += 1; }
  });
  return said.sort(function (a, b) { return b[0] - a[0]; });
}

/**
 * What so many turns take: n·T + (n−1)·(gather + walk).
 * @param {Times} times
 * @param {number} turns
 */
export function circuitS(times, turns) {
  return turns * times.work_s + Math.max(0, turns - 1) * (times.gather_s + times.walk_s);
}

/**
 * The whole lesson.
 * @param {Times} times
 * @param {number} turns
 * @param {boolean} cameraBriefing
 */
export function lessonS(times, turns, cameraBriefing) {
  return circuitS(times, turns) + times.warm_up_s + times.briefing_s + times.closing_s + (cameraBriefing ? CAMERA_BRIEFING_S : 0);
}

/**
 * How many turns today's class has: one for each place to stand or rest.
 * @param {KnownClass | null} known
 * @param {Draft} draft
 * @param {number} open
 * @param {number} groups
 */
export function turnsOf(known, draft, open, groups) {
  if (!draft.anew && known !== null && known.goes_on_with !== null && known.turns !== null) {
    return known.turns - known.goes_on_with + 1;
  }
  return Math.max(open, groups);
}

/**
 * The time of a change, spread over gathering and walking as usual.
 * @param {Times} times
 * @param {number} changeS
 * @returns {Times}
 */
export function withChange(times, changeS) {
  const gather = Math.round(changeS / 3);
  return Object.assign({}, times, { gather_s: gather, walk_s: changeS - gather });
}

/**
 * What is sent.
 * @param {string} id
 * @param {Draft} draft
 */
export function startOf(id, draft) {
  /** @type {{[key: string]: unknown}} */
  const start = {
    id: id, class: draft.title.trim(), children: draft.children, ticked: draft.ticked, as_it_stands: draft.asItStands,
    no_spotter: draft.noSpotter, anew: draft.anew, camera_briefing: draft.cameraBriefing, times: draft.times,
    quiet: draft.quiet,
  };
  if (draft.grade !== null) { start.grade = draft.grade; }
  if (draft.refine !== null) { start.refine = draft.refine; }
  if (draft.groups !== null) { start.groups = draft.groups; }
  if (draft.notShown !== null) { start.not_shown = draft.notShown; }
  return start;
}

/**
 * Whole numbers within bounds; a step past an end stays there.
 * @param {number} value
 * @param {number} least
 * @param {number} most
 */
export function within(value, least, most) {
  return Math.max(least, Math.min(most, Math.round(value)));
}
