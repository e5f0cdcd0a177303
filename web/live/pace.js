/**
 * What is due on the glass when: the late picture, some seconds behind the
 * clock; pictures that were seen, once more and slowly; or one that is held.
 *
 * The regulator knows one pace only, a picture a picture's time. So it is told a
 * film instead: each picture's film time is when it is due, less a delay. For
 * the late picture that is its capture time and the station's delay; for
 * pictures once more it is when they are due on the server's clock, and no delay.
 *
 * Not here: seeking, rates, what may be shown again (the server says).
 */

/** After it is over the last picture stays until the late one has been sought, this long at most. */
const TURN_US = 700000;
/** From the moment the first picture is due, the same. */
const START_US = 500000;

/**
 * @typedef {import('./wire').Again} Again
 * @typedef {import('./regulator.js').Range} Range
 *
 * @typedef {{kind: 'late', delayUs: number}
 *   | {kind: 'again', fromUs: number, toUs: number, startsUs: number, endsUs: number}
 *   | {kind: 'held', atUs: number}} Pace
 */

/**
 * What to go by when the server has said something new. It says no more of what
 * is over; the page still has to know that it ended in its own time.
 * @param {Again | null} before
 * @param {Again | null} heard
 * @param {number} nowUs
 * @returns {Again | null}
 */
export function goneBy(before, heard, nowUs) {
  const over = before !== null && before.kind === 'playing' && nowUs >= before.ends_us;
  return heard === null && over ? before : heard;
}

/**
 * @param {Again | null} again
 * @param {number} nowUs
 * @param {number} delayUs
 * @returns {Pace}
 */
export function paceOf(again, nowUs, delayUs) {
  if (again !== null && again.kind === 'held') {
    return { kind: 'held', atUs: again.at_us };
  }
  if (again !== null && nowUs < again.ends_us && again.from_us < again.to_us) {
    return { kind: 'again', fromUs: again.from_us, toUs: again.to_us, startsUs: again.starts_us, endsUs: again.ends_us };
  }
  return { kind: 'late', delayUs: delayUs };
}

/** Whether nothing has to be sought anew; a new delay is the regulator's. @param {Pace | null} a @param {Pace} b */
export function samePace(a, b) {
  return a !== null && (a.kind === 'late' ? b.kind === 'late' : JSON.stringify(a) === JSON.stringify(b));
}

/** How fast its pictures go by. @param {Pace} pace */
export function speed(pace) {
  return pace.kind === 'again' ? (pace.toUs - pace.fromUs) / (pace.endsUs - pace.startsUs) : 1;
}

/** Capture time that is due. @param {Pace} pace @param {number} nowUs */
export function dueUs(pace, nowUs) {
  if (pace.kind === 'held') {
    return pace.atUs;
  }
  return pace.kind === 'late' ? nowUs - pace.delayUs : Math.max(pace.fromUs, captureUs(pace, nowUs));
}

/** @param {Pace} pace */
export function filmDelayUs(pace) {
  return pace.kind === 'late' ? pace.delayUs : 0;
}

/** @param {Pace} pace @param {number} atUs capture time */
export function filmUs(pace, atUs) {
  return pace.kind === 'again' ? pace.startsUs + (atUs - pace.fromUs) / speed(pace) : atUs;
}

/** @param {Pace} pace @param {number} atUs film time */
export function captureUs(pace, atUs) {
  return pace.kind === 'again' ? pace.fromUs + (atUs - pace.startsUs) * speed(pace) : atUs;
}

/**
 * What of the buffer belongs to the film, in film time.
 * @param {Pace} pace
 * @param {Range[]} ranges
 * @returns {Range[]}
 */
export function filmRanges(pace, ranges) {
  if (pace.kind !== 'again') {
    return ranges;
  }
  return ranges
    .map(function (r) { return { startUs: Math.max(r.startUs, pace.fromUs), endUs: Math.min(r.endUs, pace.toUs) }; })
    .filter(function (r) { return r.startUs < r.endUs; })
    .map(function (r) { return { startUs: filmUs(pace, r.startUs), endUs: filmUs(pace, r.endUs) }; });
}

/**
 * Whether the page is just turning from one pace to another: what is on the
 * glass was due a moment ago, and what is due is being sought. What was cut
 * short is not waited for.
 * @param {Again | null} again
 * @param {number} nowUs
 */
export function turning(again, nowUs) {
  if (again === null || again.kind === 'held') {
    return false;
  }
  return nowUs < again.ends_us ? nowUs < again.starts_us + START_US : nowUs < again.ends_us + TURN_US;
}

/**
 * Whether the page has to ask for the pictures: it does not hold them all.
 * @param {Again | null} again
 * @param {Range[]} ranges
 */
export function againNeedsWant(again, ranges) {
  if (again === null) {
    return null;
  }
  const from = again.kind === 'held' ? again.at_us : again.from_us;
  // The last picture's own length may be a hair less than was said.
  const to = again.kind === 'held' ? from + 1 : Math.max(from + 1, again.to_us - 50000);
  const there = ranges.some(function (r) { return r.startUs <= from && to <= r.endUs; });
  return there ? null : from;
}
