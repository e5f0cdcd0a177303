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
 * @typedef {'warm_up' | 'briefing' | 'work' | 'last_turn' | 'gather' | 'walk' | 'closing' | 'done'} Phase
 * @typedef {'pause' | 'freeze' | 'accident' | 'leave' | 'dark'} Hold
 * @typedef {{turn: number, phase: Phase, hold: Hold | null}} Moment where the class is
 * @typedef {'rhythm' | 'files' | 'own' | 'quiet'} Mode
 *   own: the teacher has music and a speaker of their own, we only signal; quiet: nothing at all
 * @typedef {'last_turn' | 'gather' | 'freeze' | 'test'} Chime
 */

/** Music goes with these. */
const MUSIC = ['warm_up', 'work', 'last_turn'];

/** @param {Moment | null} moment @param {Mode} mode */
export function music(moment, mode) {
  return moment !== null && moment.hold === null && MUSIC.indexOf(moment.phase) >= 0
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
  if (after.hold !== null) {
    return after.hold === 'freeze' && before.hold !== 'freeze' ? 'freeze' : null;
  }
  const entered = before.phase !== after.phase || before.turn !== after.turn;
  if (!entered) {
    return null;
  }
  if (after.phase === 'last_turn' && before.turn === after.turn) {
    return 'last_turn';
  }
  // Where our music stops, the quiet is the signal.
  if (after.phase === 'gather' && mode === 'own') {
    return 'gather';
  }
  return null;
}
