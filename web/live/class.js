/**
 * What a page says of the class: the phase, the time left, where to go next.
 *
 * Not here: drawing it, asking for it.
 */

/**
 * @typedef {import('./wire').ScreenClass} ScreenClass
 * @typedef {import('./wire').ClassTime} ClassTime
 * @typedef {import('./wire').Hold} Hold
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/**
 * The time left of a phase, counted down by the page itself.
 * @param {ClassTime} time
 * @param {number | null} nowUs the server's clock, `null` while unknown
 */
export function leftMs(time, nowUs) {
  if (time.ends_us === null || nowUs === null) {
    return time.left_ms;
  }
  return Math.max(0, (time.ends_us - nowUs) / 1000);
}

/**
 * Minutes and seconds; a phase that has just begun shows its whole time, and
 * nothing is left only when it is over.
 * @param {number} ms
 */
export function minutes(ms) {
  const s = Math.ceil(ms / 1000);
  const rest = s % 60;
  return Math.floor(s / 60) + ':' + (rest < 10 ? '0' : '') + rest;
}

/**
 * The class in a line; nothing while none runs.
 * @param {ClassTime | null} time
 * @param {number | null} nowUs
 * @param {Words} words
 */
export function timeLine(time, nowUs, words) {
  if (time === null || time.phase === 'done') {
    return '';
  }
  const phase = words('live-phase-' + time.phase.replace(/_/g, '-'));
  if (time.hold !== null) {
    return words('live-class-held', { phase: phase, left: minutes(time.left_ms) });
  }
  return words('live-class-time', { phase: phase, left: minutes(leftMs(time, nowUs)) });
}

/**
 * Where the groups of a station go, once they are to gather; nothing before.
 * @param {ScreenClass | null} c
 * @param {Words} words
 */
export function nextLine(c, words) {
  if (c === null || c.time === null || (c.time.phase !== 'gather' && c.time.phase !== 'walk')) {
    return '';
  }
  const to = c.groups.filter(function (g) { return g.next !== null; }).map(function (g) { return g.next; });
  if (c.groups.length === 0) {
    return '';
  }
  return to.length === 0 ? words('live-class-rest') : words('live-class-next', { station: to.join(', ') });
}

/**
 * Why no picture may be on the glass; `null`: it may.
 * @param {ScreenClass | null} c
 * @returns {Exclude<Hold, 'pause'> | null}
 */
export function hidingHold(c) {
  const hold = c === null || c.time === null ? null : c.time.hold;
  return hold === 'pause' ? null : hold;
}

/**
 * The stay whose pictures may be seen now. A walk ends at a moment that is known
 * before: nobody waits for word of it.
 * @param {ScreenClass | null} c
 * @param {number | null} nowUs
 * @returns {import('./wire').Stay | null}
 */
export function stayOf(c, nowUs) {
  const time = c === null ? null : c.time;
  if (c === null || time === null) {
    return null;
  }
  const over = time.phase === 'walk' && time.ends_us !== null && nowUs !== null && nowUs >= time.ends_us;
  return over ? { from_us: /** @type {number} */ (time.ends_us), to_us: null } : c.stay;
}
