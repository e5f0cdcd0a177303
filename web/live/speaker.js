/**
 * The speaker of the gym: any TV or board of the hall whose button says so. It
 * is chosen at that screen, since a browser makes no sound before somebody has
 * pressed something there; after a restart it asks for that one press.
 *
 * Not here: when there is sound (signal.js), which notes (rhythm.js), how they
 * sound (voices.js).
 */

import { BAR_S, notesOf } from './rhythm.js';
import { chime, music } from './signal.js';
import { Voices } from './voices.js';

/** @typedef {import('./signal.js').Mode} Mode */

const KEY = 'afterturn-sound';
/** What the button goes round through. @type {Mode[]} */
const MODES = ['quiet', 'rhythm', 'own'];
/** So much of the music is handed over ahead. */
const AHEAD_S = 0.4;

/** @param {Mode} mode @returns {Mode} */
export function after(mode) {
  return MODES[(MODES.indexOf(mode) + 1) % MODES.length];
}

/** What was kept, if it is one of ours. @param {string | null} kept @returns {Mode} */
export function readMode(kept) {
  return MODES.filter(function (mode) { return mode === kept; })[0] || 'quiet';
}

/**
 * The button's sentence; nothing while a class runs and nothing is wanted.
 * @param {Mode} mode
 * @param {boolean} inClass
 * @param {boolean} waits the browser has not been pressed yet
 */
export function saidBy(mode, inClass, waits) {
  if (mode !== 'quiet' && waits) {
    return 'live-sound-press';
  }
  return inClass ? '' : 'live-sound-' + mode;
}

/**
 * Where the class is, as the signal needs it.
 * @param {import('./wire').ClassTime | null} time
 * @returns {import('./signal.js').Moment | null}
 */
export function momentOf(time) {
  return time === null ? null : { turn: time.turn, phase: time.phase, hold: time.hold };
}

export class Speaker {
  /**
   * @param {HTMLElement} button
   * @param {() => ((id: string) => string)} words in the page's language now
   */
  constructor(button, words) {
    this.button = button;
    this.words = words;
    this.mode = readMode(kept());
    /** @type {import('./signal.js').Moment | null} */
    this.moment = null;
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {Voices | null} */
    this.voices = null;
    this.playing = false;
    this.bar = 0;
    this.nextS = 0;
    button.addEventListener('click', () => { this.pressed(); });
    const first = () => { this.wake(); };
    document.addEventListener('keydown', first);
    document.addEventListener('click', first);
    setInterval(() => { this.tick(); }, 100);
    this.put();
  }

  /** The next way, with its tone, so that it can be heard and set at the amplifier. */
  pressed() {
    this.mode = this.waits() && this.mode !== 'quiet' ? this.mode : after(this.mode);
    keep(this.mode);
    this.wake();
    if (this.mode !== 'quiet' && this.voices !== null && this.context !== null) {
      this.voices.chime('test', this.context.currentTime + 0.05);
    }
    this.tick();
  }

  /** Somebody has pressed something: from now on the browser lets sound out. */
  wake() {
    if (this.mode === 'quiet') {
      return;
    }
    if (this.context === null) {
      this.context = new AudioContext();
      this.voices = new Voices(this.context);
    }
    if (this.context.state === 'suspended') {
      this.context.resume().catch(function () { /* It asks again. */ });
    }
  }

  waits() {
    return this.context === null || this.context.state !== 'running';
  }

  /** @param {import('./wire').ClassTime | null} time */
  heard(time) {
    const before = this.moment;
    const now = momentOf(time);
    this.moment = now;
    if (now !== null && this.voices !== null && this.context !== null && !this.waits()) {
      const which = chime(before, now, this.mode);
      if (which !== null) {
        this.voices.chime(which, this.context.currentTime + 0.02);
      }
    }
    this.tick();
  }

  /** The line is lost: what the class does is not known, so nothing plays. */
  lost() {
    this.moment = null;
    this.tick();
  }

  tick() {
    this.put();
    if (this.context === null || this.voices === null || this.waits()) {
      return;
    }
    const now = this.context.currentTime;
    const on = music(this.moment, this.mode);
    if (on !== this.playing) {
      this.playing = on;
      this.voices.fade(on, now);
      this.nextS = Math.max(this.nextS, now + 0.05);
    }
    while (on && this.nextS < now + AHEAD_S) {
      for (const note of notesOf(this.bar)) {
        this.voices.play(note, this.nextS + note.atS);
      }
      this.bar += 1;
      this.nextS += BAR_S;
    }
  }

  put() {
    const id = saidBy(this.mode, this.moment !== null, this.waits());
    const said = id === '' ? '' : this.words()(id);
    this.button.hidden = said === '';
    if (this.button.textContent !== said) {
      this.button.textContent = said;
    }
  }
}

function kept() {
  try {
    return localStorage.getItem(KEY);
  } catch (blocked) {
    return null;
  }
}

/** @param {Mode} mode */
function keep(mode) {
  try {
    localStorage.setItem(KEY, mode);
  } catch (blocked) {
    console.warn('this browser keeps nothing; the speaker has to be chosen again after a restart');
  }
}
