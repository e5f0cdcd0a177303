/**
 * The speaker of the gym: any TV or board of the hall. The box says which page it
 * is and what it plays; a press at the page, or the remote, chooses. A browser
 * makes no sound before somebody has pressed something there, so a page that is
 * the speaker asks for that one press.
 *
 * Not here: when there is sound (signal.js), which notes (rhythm.js), how they
 * sound (voices.js), the teacher's files (tracks.js).
 */

import { BAR_S, notesOf } from './rhythm.js';
import { chime, music } from './signal.js';
import { Tracks } from './tracks.js';
import { Voices } from './voices.js';

/**
 * @typedef {import('./signal.js').Mode} Mode
 * @typedef {import('./wire').SoundState} SoundState
 */

/** So much of the music is handed over ahead. */
const AHEAD_S = 0.4;

/**
 * What this page plays: nothing where it is not the speaker, or is to be quiet.
 * @param {SoundState | null} state
 * @returns {Mode}
 */
export function modeOf(state) {
  return state === null || !state.speaks || state.quiet ? 'quiet' : state.mode;
}

/**
 * The button's sentence; nothing while a class runs and nothing is wanted.
 * @param {SoundState | null} state
 * @param {boolean} inClass
 * @param {boolean} waits the browser has not been pressed yet
 */
export function saidBy(state, inClass, waits) {
  if (state === null) {
    return '';
  }
  if (modeOf(state) !== 'quiet' && waits) {
    return 'live-sound-press';
  }
  return inClass ? '' : 'live-sound-' + modeOf(state);
}

/**
 * Whether it is to sound once, so that it can be heard and set at the amplifier.
 * @param {SoundState | null} before
 * @param {SoundState} state
 * @param {boolean} pressed somebody has just pressed at this page that it be the speaker
 */
export function tones(before, state, pressed) {
  return modeOf(state) !== 'quiet' && (pressed || (before !== null && state.tones !== before.tones));
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
   * @param {(message: import('./wire').FromScreen) => void} send
   */
  constructor(button, words, send) {
    this.button = button;
    this.words = words;
    this.send = send;
    /** @type {SoundState | null} */
    this.state = null;
    /** @type {import('./signal.js').Moment | null} */
    this.moment = null;
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {Voices | null} */
    this.voices = null;
    /** @type {Tracks | null} */
    this.tracks = null;
    this.pressedHere = false;
    this.playing = false;
    this.reported = '';
    this.bar = 0;
    this.nextS = 0;
    button.addEventListener('click', () => { this.pressed(); });
    const first = () => { this.wake(); };
    document.addEventListener('keydown', first);
    document.addEventListener('click', first);
    setInterval(() => { this.tick(); }, 100);
    this.put();
  }

  /** What it plays. */
  mode() {
    return modeOf(this.state);
  }

  /** This page is to be the speaker; if it is, it lets itself be heard. */
  pressed() {
    if (this.state === null) {
      return;
    }
    if (this.state.speaks) {
      this.wake();
      this.tone();
    } else {
      this.pressedHere = true;
      // Made now: the browser lets it out because of this very press.
      this.make();
      this.send({ type: 'speak' });
    }
    this.tick();
  }

  tone() {
    if (this.voices !== null && this.context !== null && this.mode() !== 'quiet') {
      this.voices.chime('test', this.context.currentTime + 0.05);
    }
  }

  make() {
    if (this.context === null) {
      this.context = new AudioContext();
      this.voices = new Voices(this.context);
      this.tracks = new Tracks(this.context, this.voices.music);
    }
    if (this.context.state === 'suspended') {
      this.context.resume().catch(function () { /* It asks again. */ });
    }
  }

  /** Somebody has pressed something: from now on the browser lets sound out. */
  wake() {
    if (this.mode() !== 'quiet') {
      this.make();
    }
  }

  waits() {
    return this.context === null || this.context.state !== 'running';
  }

  /** What the box says of the sound. @param {SoundState} state */
  told(state) {
    const before = this.state;
    this.state = state;
    if (this.mode() !== 'quiet' && this.context === null) {
      // Where the browser was told to let sound out, no press is needed.
      this.make();
    }
    if (tones(before, state, this.pressedHere)) {
      this.tone();
    }
    this.pressedHere = this.pressedHere && !state.speaks;
    if (this.tracks !== null) {
      if (before === null || !before.speaks) {
        // What it was refused while it was not the speaker was no fault of a file.
        this.tracks.forgive();
      }
      this.tracks.heard(state.listing, state.tracks);
    }
    this.reported = '';
    this.tick();
  }

  /** @param {import('./wire').ClassTime | null} time */
  heard(time) {
    const before = this.moment;
    const now = momentOf(time);
    this.moment = now;
    if (now !== null && this.voices !== null && this.context !== null && !this.waits()) {
      const which = chime(before, now, this.mode());
      if (which !== null) {
        this.voices.chime(which, this.context.currentTime + 0.02);
      }
    }
    this.tick();
  }

  /** The line is lost: what the class does is not known, so nothing plays. */
  lost() {
    this.moment = null;
    if (this.tracks !== null) {
      this.tracks.forgive();
    }
    this.tick();
  }

  tick() {
    this.put();
    this.play();
    this.report();
  }

  play() {
    if (this.context === null || this.voices === null || this.tracks === null || this.waits()) {
      return;
    }
    const now = this.context.currentTime;
    const on = music(this.moment, this.mode());
    if (on !== this.playing) {
      this.playing = on;
      this.voices.fade(on, now);
      this.nextS = Math.max(this.nextS, now + 0.05);
    }
    const files = on && this.mode() === 'files' && this.tracks.any();
    this.tracks.keep(files, now);
    while (on && !files && this.nextS < now + AHEAD_S) {
      // Behind after a while of files: a rhythm does not catch up.
      this.nextS = Math.max(this.nextS, now + 0.02);
      for (const note of notesOf(this.bar)) {
        this.voices.play(note, this.nextS + note.atS);
      }
      this.bar += 1;
      this.nextS += BAR_S;
    }
  }

  /** Tells the box how it sounds, where that has changed. */
  report() {
    if (this.state === null) {
      return;
    }
    const tracks = this.tracks;
    const files = this.mode() === 'files' && tracks !== null && tracks.any();
    const ready = !this.waits();
    const plays = ready && this.playing && (!files || (tracks !== null && tracks.plays()));
    const failed = tracks === null ? [] : tracks.list.failed;
    const said = JSON.stringify([ready, plays, failed]);
    if (said !== this.reported) {
      this.reported = said;
      this.send({ type: 'sound', ready: ready, plays: plays, failed: failed });
    }
  }

  put() {
    const id = saidBy(this.state, this.moment !== null, this.waits());
    const said = id === '' ? '' : this.words()(id);
    this.button.hidden = said === '';
    if (this.button.textContent !== said) {
      this.button.textContent = said;
    }
  }
}
