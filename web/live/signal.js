/**
 * What the gym should hear: music while the children work, quiet when they are
 * to gather, and a soft sound where quiet alone says nothing.
 *
 * No sound hurries anybody (no countdown, no beeps), and none is like an alarm:
 * all are struck and die away, none swells, sweeps or repeats.
 *
 * Not here: making sound (voices.js), and the class's clock.
 */

/**
 * @typedef {'warm-up' | 'briefing' | 'work' | 'last-turn' | 'gather' | 'walk' | 'closing' | 'done'} Phase
 * @typedef {'paused' | 'freeze' | 'accident' | 'leave' | 'dark'} Stop
 * @typedef {{turn: number, phase: Phase, stop: Stop | null}} Moment where the class is
 * @typedef {'rhythm' | 'files' | 'own' | 'quiet'} Mode
 *   own: the teacher has music and a speaker of their own, we only signal; quiet: nothing at all
 * @typedef {'last-turn' | 'gather' | 'freeze' | 'test'} Chime
 */

/** Music goes with these. */
const MUSIC = ['warm-up', 'work', 'last-turn'];

/** @param {Moment | null} moment @param {Mode} mode */
export function music(moment, mode) {
  return moment !== null && moment.stop === null && MUSIC.indexOf(moment.phase) >= 0
    && (mode === 'rhythm' || mode === 'files');
}

/**
 * What sounds once when the class comes from one moment to another.
 *
 * A page that has only now heard of the class (opened, or back after a lost
 * line) stays silent: what it would say is over.
 * @param {Moment | null} before
 * @param {Moment} after
 * @param {Mode} mode
 * @returns {Chime | null}
 */
export function chime(before, after, mode) {
  if (before === null || mode === 'quiet') {
    return null;
  }
  if (after.stop !== null) {
    return after.stop === 'freeze' && before.stop !== 'freeze' ? 'freeze' : null;
  }
  const entered = before.phase !== after.phase || before.turn !== after.turn;
  if (!entered) {
    return null;
  }
  if (after.phase === 'last-turn' && before.turn === after.turn) {
    return 'last-turn';
  }
  // Where our music stops, the quiet is the signal.
  if (after.phase === 'gather' && mode === 'own') {
    return 'gather';
  }
  return null;
}
