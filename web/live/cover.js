/**
 * What covers the glass, and why: never a frozen picture, never a child who is
 * not due, and never a black screen that says nothing.
 *
 * A card covers the whole picture; a notice stands over its lower edge while the
 * picture goes on. A camera's health is live and shows at once; the pictures
 * it took before it died are still due and go on until the last of them.
 *
 * While a station's camera is calibrated its bars stand where the picture would,
 * under the same rules: what hides a picture hides them too.
 *
 * Not here: drawing it, wording it, the clock.
 */

/**
 * Pictures are seen only while the server has vouched this lately for what it
 * said about them. A wipe has to be on every glass within half a second, even on
 * one it cannot be told to; what is left goes into noticing and painting. The
 * server vouches every 50 ms, so a hiccup of a third of a second is not seen.
 */
export const VOUCHED_US = 400000;
/** A clock that was asked a few times may be off by this; a word from further ahead is another clock's. */
const AHEAD_US = 500000;
/** A screen that has heard nothing for this long says that it has lost the box. */
export const SILENT_US = 1500000;
/** A picture may be this late if no newer one is to come. */
const OVERDUE_US = 250000;
/** Up to this a late picture is being worked on: there are newer ones in the buffer. */
const ASTRAY_US = 500000;
/** A cover goes when the picture on the glass is late by less than this, and at most one picture early. */
const DUE_US = 120000;

/**
 * @typedef {import('./wire').StationState} StationState
 * @typedef {import('./wire').CameraState} CameraState
 * @typedef {import('./wire').CoverReason} CoverReason
 *
 * @typedef {object} Glass the picture on the glass
 * @property {number} captureUs
 * @property {number} durationUs how long it is the right one
 *
 * @typedef {object} Facts
 * @property {number | null} nowUs server's clock, `null` while unknown
 * @property {number | null} heardAgoUs since anything came from the server; `null`: never yet
 * @property {number | null} vouchedAgoUs since the server vouched for what it had said, by its own clock; `null`: never yet
 * @property {number} openedAgoUs since this page opened
 * @property {StationState | null} state
 * @property {Glass | null} glass
 * @property {number} dueUs capture time that is due on the glass: the late picture's, or what is shown once more
 * @property {boolean} turning the page turns from one of these to the other, and what is on the glass was due a moment ago
 * @property {boolean} newer there are newer pictures in the buffer than the one on the glass
 * @property {Exclude<import('./wire').Hold, 'pause'> | null} hold why the class shows no picture anywhere
 * @property {import('./wire').Stay | null} stay pictures that may be seen now are of these capture times; `null`: all are
 * @property {CoverReason | null} veiled why the server said that what is on the glass must not be seen
 * @property {boolean} tap the browser wants a press before it plays
 * @property {boolean} covered a card covers it now
 *
 * @typedef {{kind: 'opening' | 'link' | 'covered' | 'paused' | 'tap' | 'moment' | 'bars' | 'between' | 'quiet'}
 *   | {kind: 'freeze' | 'accident' | 'leave' | 'dark'}
 *   | {kind: 'filling', seconds: number}
 *   | {kind: 'camera', camera: CameraState}} Card
 *
 * @typedef {object} Cover
 * @property {Card | null} card over the whole picture; `null`: the picture is seen
 * @property {CameraState | null} notice over its lower edge: the camera is away
 */

/**
 * @param {Facts} f
 * @returns {Cover}
 */
export function cover(f) {
  const away = f.state !== null && f.state.camera !== 'showing' ? f.state.camera : null;
  // Before everything: what was said last stands, even where the box has gone.
  if (f.hold !== null) {
    return { card: { kind: f.hold }, notice: null };
  }
  const bars = f.state !== null && f.state.calibrating;
  if (f.tap && !bars) {
    return { card: { kind: 'tap' }, notice: null };
  }
  if (silentUs(f) > SILENT_US) {
    return { card: { kind: 'link' }, notice: null };
  }
  // Its camera is off as well, and that is not what there is to say.
  if (f.state !== null && f.state.quiet) {
    return { card: { kind: 'quiet' }, notice: null };
  }
  if (f.state !== null && f.state.camera === 'off') {
    return { card: { kind: 'camera', camera: 'off' }, notice: null };
  }
  if (f.veiled !== null) {
    return { card: { kind: f.veiled === 'paused' ? 'paused' : 'covered' }, notice: null };
  }
  if (f.nowUs === null || f.state === null) {
    return { card: { kind: 'opening' }, notice: null };
  }
  if (f.vouchedAgoUs === null || f.vouchedAgoUs > VOUCHED_US || f.vouchedAgoUs < -AHEAD_US) {
    return { card: { kind: 'moment' }, notice: null };
  }
  if (bars) {
    return { card: { kind: 'bars' }, notice: null };
  }
  if (f.stay !== null && !within(f.stay, f.glass === null ? f.dueUs : f.glass.captureUs)) {
    return { card: { kind: 'between' }, notice: null };
  }
  if (f.glass !== null && ((f.turning && !f.covered) || seen(f, f.glass, f.dueUs))) {
    return { card: null, notice: away === 'starting' ? null : away };
  }
  return { card: instead(f.state, f.nowUs), notice: null };
}

/**
 * Whether a capture time is of the stay whose attempts are to be seen: a group
 * is not shown what the one before it did, nor what it does on its way.
 * @param {import('./wire').Stay} stay
 * @param {number} captureUs
 */
function within(stay, captureUs) {
  return captureUs >= stay.from_us && (stay.to_us === null || captureUs < stay.to_us);
}

/**
 * For how long the server has had nothing to say, by the best that is known.
 * @param {Facts} f
 */
function silentUs(f) {
  if (f.vouchedAgoUs !== null) {
    return f.vouchedAgoUs;
  }
  return f.heardAgoUs === null ? f.openedAgoUs : f.heardAgoUs;
}

/**
 * Whether the picture on the glass may be seen.
 * @param {Facts} f
 * @param {Glass} glass
 * @param {number} dueUs capture time that is due now
 */
function seen(f, glass, dueUs) {
  const overdue = dueUs - glass.captureUs - glass.durationUs;
  if (f.covered) {
    return overdue < DUE_US && overdue >= -2 * glass.durationUs;
  }
  if (overdue < -ASTRAY_US - glass.durationUs) {
    return false;
  }
  return overdue <= (f.newer ? ASTRAY_US : OVERDUE_US);
}

/**
 * The card where no picture can be.
 * @param {StationState} state
 * @param {number} nowUs
 * @returns {Card}
 */
function instead(state, nowUs) {
  const delayUs = state.delay_ms * 1000;
  // Back after a while away: the oldest picture is from before, and was seen.
  const back = state.camera === 'showing' && state.oldest_us !== null ? state.camera_since_us : 0;
  const first = state.oldest_us === null ? null : Math.max(state.oldest_us, back);
  if (first !== null && first + delayUs > nowUs) {
    return { kind: 'filling', seconds: Math.ceil((first + delayUs - nowUs) / 1000000) };
  }
  const last = state.newest_us;
  const more = last !== null && last + delayUs > nowUs;
  if (state.camera !== 'showing' && !more) {
    return { kind: 'camera', camera: state.camera };
  }
  return { kind: 'moment' };
}
