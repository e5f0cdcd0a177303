/**
 * A screen's decisions about its link: when to ask for pictures again and from
 * where, when to report, how long to wait before trying again, whether to load
 * the page anew.
 *
 * Not here: sockets, timers, the page.
 */

/** @typedef {import('./regulator.js').Range} Range */

/** The buffer may be dry this long before pictures are asked for again. */
const DRY_US = 1000000;
/** And between two such askings. */
const ASK_REST_US = 2000000;
/** What must be ahead in the buffer for a new delay to be served from it. */
const AHEAD_US = 200000;

/** A report goes at least this often, and when the buffer's end has moved this far. */
export const REPORT_EVERY_US = 250000;
export const REPORT_MOVED_US = 300000;

/**
 * From where to ask for pictures when the link opens.
 * @param {Range[]} ranges
 * @param {number | null} dueUs capture time that is due now, if the clock is known
 * @param {number | null} endUs where the last appended picture ends
 * @returns {number | null} `null`: from the one due now
 */
export function wantAtOpening(ranges, dueUs, endUs) {
  if (dueUs === null || endUs === null) {
    return null;
  }
  const good = ranges.some(function (r) {
    return r.startUs <= dueUs && dueUs < r.endUs && Math.abs(r.endUs - endUs) < AHEAD_US;
  });
  return good ? endUs : null;
}

/**
 * Whether a new delay needs other pictures than the buffer holds.
 * @param {Range[]} ranges
 * @param {number} dueUs capture time that is due now
 */
export function delayNeedsWant(ranges, dueUs) {
  return !ranges.some(function (r) { return r.startUs <= dueUs && dueUs + AHEAD_US < r.endUs; });
}

/**
 * Whether a buffer has been dry for too long though there is something to show.
 * @param {object} f
 * @param {number} f.nowUs
 * @param {number} f.dueUs capture time that is due now
 * @param {Range[]} f.ranges
 * @param {number | null} f.oldestUs what the server has
 * @param {number | null} f.newestUs
 * @param {number} f.fedUs when something was last appended or asked for
 * @param {number} f.askedUs when pictures were last asked for
 */
export function dryNeedsWant(f) {
  const ahead = f.ranges.some(function (r) { return r.endUs > f.dueUs; });
  const there = f.newestUs !== null && f.newestUs > f.dueUs
    && f.oldestUs !== null && f.oldestUs <= f.dueUs;
  return !ahead && there && f.nowUs - f.fedUs > DRY_US && f.nowUs - f.askedUs > ASK_REST_US;
}

/**
 * Whether it is time to report.
 * @param {number} nowUs
 * @param {{atUs: number, endUs: number | null}} last the last report
 * @param {number | null} endUs where the buffer ends now
 */
export function reportIsDue(nowUs, last, endUs) {
  const moved = endUs !== null && (last.endUs === null || Math.abs(endUs - last.endUs) > REPORT_MOVED_US);
  return moved || nowUs - last.atUs >= REPORT_EVERY_US;
}

/**
 * How long to wait before the next try.
 * @param {number} failed tries that failed in a row, 1 or more
 */
export function retryAfterMs(failed) {
  return Math.min(2000, 200 * Math.pow(2, Math.max(0, failed - 1)));
}

/**
 * What a page does about a server's build: nothing, or load itself anew, but
 * for one build only once, so that a page in a cache cannot make it circle.
 * @param {{protocol: number, build: string}} hello
 * @param {{protocol: number, build: string}} page
 * @param {string | null} reloadedFor the build it was last reloaded for
 * @returns {'go on' | 'reload' | 'misfit'} `misfit`: another protocol, and reloading did not help
 */
export function buildCheck(hello, page, reloadedFor) {
  if (hello.build === page.build && hello.protocol === page.protocol) {
    return 'go on';
  }
  if (reloadedFor !== hello.build) {
    return 'reload';
  }
  return hello.protocol === page.protocol ? 'go on' : 'misfit';
}
