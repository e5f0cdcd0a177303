/**
 * A rhythm that the page makes itself, so that a gym without a single music
 * file has something to work to. Which notes, and when; endless, never twice
 * the same eight bars in a row, and the same on every screen at the same bar.
 *
 * Not here: how a note sounds (voices.js), when there is music (signal.js).
 */

/** A brisk walk: children step to it without running. Our choice. */
export const BEATS_A_MINUTE = 104;
const BEATS_A_BAR = 4;
export const BAR_S = (BEATS_A_BAR * 60) / BEATS_A_MINUTE;

/**
 * A major pentatonic scale has no semitones, so whatever falls together sounds
 * well. MIDI key numbers; 60 is middle C (MIDI 1.0).
 */
const SCALE = [62, 64, 67, 69, 71, 74, 76, 79];
/** The bass, a chord for every two bars. */
const ROOTS = [43, 48, 45, 38];
/** Where in a bar a melody may fall, in eighths. */
const FIGURES = [
  [0, 3, 4, 6],
  [0, 2, 3, 6],
  [1, 3, 4, 7],
  [0, 3, 5, 6],
  [0, 4],
];

/**
 * @typedef {{atS: number, key: number, voice: 'bar' | 'bass' | 'brush', level: number}} Note
 *   when in its bar; which key; how it is struck; 0 to 1
 */

/** A number that looks thrown, the same for the same input. @param {number} n */
function thrown(n) {
  let x = Math.imul(n ^ (n >>> 16), 0x45d9f3b);
  x = Math.imul(x ^ (x >>> 16), 0x45d9f3b);
  return (x ^ (x >>> 16)) >>> 0;
}

/**
 * The notes of one bar, in the order they sound.
 * @param {number} bar from 0
 * @returns {Note[]}
 */
export function notesOf(bar) {
  const eighthS = BAR_S / 8;
  /** @type {Note[]} */
  const notes = [];
  const root = ROOTS[(bar >> 1) % ROOTS.length];
  notes.push({ atS: 0, key: root, voice: 'bass', level: 0.9 });
  notes.push({ atS: 5 * eighthS, key: root + (bar % 2 === 0 ? 0 : 7), voice: 'bass', level: 0.6 });
  for (let eighth = 1; eighth < 8; eighth += 2) {
    notes.push({ atS: eighth * eighthS, key: 0, voice: 'brush', level: eighth % 4 === 3 ? 0.7 : 0.4 });
  }
  // The last bar of eight breathes: nothing but bass and brush.
  if (bar % 8 !== 7) {
    let at = thrown(bar >> 1) % SCALE.length;
    const figure = FIGURES[thrown(bar * 3 + 1) % FIGURES.length];
    figure.forEach(function (eighth, i) {
      at = Math.max(0, Math.min(SCALE.length - 1, at + (thrown(bar * 7 + i) % 5) - 2));
      notes.push({ atS: eighth * eighthS, key: SCALE[at], voice: 'bar', level: i === 0 ? 0.8 : 0.6 });
    });
  }
  return notes.sort(function (a, b) { return a.atS - b.atS; });
}

/** How often a key swings, in hertz (equal temperament, A4 = 440: ISO 16). @param {number} key */
export function hertz(key) {
  return 440 * Math.pow(2, (key - 69) / 12);
}
