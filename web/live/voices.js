/**
 * How it sounds: a wooden bar, a bass string, a brush, and the chimes, made of
 * oscillators; and the way out, which nothing passes louder than its maximum.
 *
 * Works in an offline context too, which is how the tests hear it.
 *
 * Not here: which notes (rhythm.js), when there is sound (signal.js).
 */

import { hertz } from './rhythm.js';

/**
 * No sample leaves louder than this: −6 dB of full scale. How loud that is in
 * the hall is set once, at the amplifier, with the test tone.
 */
export const MOST = 0.5;
/** So that a chime stands out over it, and neither is loud. */
const MUSIC_LEVEL = 0.35;
const CHIME_LEVEL = 0.2;
/** Music comes and goes without a click. */
const FADE_S = 0.4;
/** One octave and its fifth: nearly a wooden bar's own overtones. */
const OVERTONES = [[1, 1], [4, 0.25]];

/** @typedef {import('./rhythm.js').Note} Note */

/** A curve that lets everything up to the maximum pass and nothing beyond. */
function ceiling() {
  const curve = new Float32Array(2001);
  for (let i = 0; i < curve.length; i += 1) {
    const x = (i - 1000) / 1000;
    curve[i] = Math.max(-MOST, Math.min(MOST, x));
  }
  return curve;
}

export class Voices {
  /** @param {BaseAudioContext} context */
  constructor(context) {
    this.context = context;
    const press = context.createDynamicsCompressor();
    press.threshold.value = -18;
    press.ratio.value = 8;
    const top = context.createWaveShaper();
    top.curve = ceiling();
    press.connect(top);
    top.connect(context.destination);
    /** Where anything joins that is to be heard, and where it leaves. */
    this.out = press;
    this.end = top;
    this.music = context.createGain();
    this.music.gain.value = 0;
    this.music.connect(press);
    this.noise = this.makeNoise();
  }

  makeNoise() {
    const rate = this.context.sampleRate;
    const noise = this.context.createBuffer(1, Math.ceil(rate * 0.2), rate);
    const samples = noise.getChannelData(0);
    let x = 1;
    for (let i = 0; i < samples.length; i += 1) {
      // Not `Math.random`: it should sound the same every time it is measured.
      x = (Math.imul(x, 1664525) + 1013904223) | 0;
      samples[i] = x / 2147483648;
    }
    return noise;
  }

  /** Lets music be heard from then on, or not. @param {boolean} on @param {number} atS */
  fade(on, atS) {
    const gain = this.music.gain;
    gain.cancelScheduledValues(atS);
    gain.setTargetAtTime(on ? MUSIC_LEVEL : 0, atS, FADE_S / 4);
    if (!on) {
      // An exponential never arrives; silence has to.
      gain.setValueAtTime(0, atS + FADE_S * 2);
    }
  }

  /** @param {Note} note @param {number} atS when, by the context's clock */
  play(note, atS) {
    if (note.voice === 'brush') {
      this.brush(note.level, atS);
      return;
    }
    const lastsS = note.voice === 'bass' ? 0.5 : 0.35;
    this.strike(this.music, hertz(note.key), note.level * 0.5, lastsS, atS);
  }

  /** @param {number} level @param {number} atS */
  brush(level, atS) {
    const source = this.context.createBufferSource();
    source.buffer = this.noise;
    const high = this.context.createBiquadFilter();
    high.type = 'highpass';
    high.frequency.value = 5000;
    source.connect(high);
    high.connect(this.fallFrom(this.music, level * 0.12, 0.08, atS));
    source.start(atS);
    source.stop(atS + 0.2);
  }

  /**
   * Something struck that dies away.
   * @param {AudioNode} to
   * @param {number} frequency
   * @param {number} level
   * @param {number} lastsS
   * @param {number} atS
   */
  strike(to, frequency, level, lastsS, atS) {
    for (const [times, share] of OVERTONES) {
      const tone = this.context.createOscillator();
      tone.frequency.value = frequency * times;
      tone.connect(this.fallFrom(to, level * share, lastsS / times, atS));
      tone.start(atS);
      tone.stop(atS + lastsS * 4);
    }
  }

  /**
   * @param {AudioNode} to
   * @param {number} level
   * @param {number} lastsS until it is a third
   * @param {number} atS
   */
  fallFrom(to, level, lastsS, atS) {
    const gain = this.context.createGain();
    gain.gain.setValueAtTime(0, atS);
    gain.gain.linearRampToValueAtTime(level, atS + 0.008);
    gain.gain.setTargetAtTime(0, atS + 0.008, lastsS / 2);
    gain.connect(to);
    return gain;
  }

  /**
   * A sound that is heard once.
   * @param {import('./signal.js').Chime} which
   * @param {number} atS
   * @returns {number} how long it sounds, in seconds
   */
  chime(which, atS) {
    /** @type {{[which: string]: [number, number, number][]}} when, key, how long */
    const tunes = {
      // Falling: something comes to its end.
      'last_turn': [[0, 76, 0.7], [0.4, 69, 1.1]],
      // Together: come together.
      'gather': [[0, 67, 1], [0, 71, 1], [0, 74, 1.2]],
      // Low and plain, like a hand on a wooden box.
      'freeze': [[0, 50, 0.5], [0.2, 45, 0.8]],
      'test': [[0, 69, 1.5]],
    };
    let lastS = 0;
    for (const [offsetS, key, lastsS] of tunes[which]) {
      this.strike(this.out, hertz(key), CHIME_LEVEL, lastsS, atS + offsetS);
      lastS = Math.max(lastS, offsetS + lastsS * 4);
    }
    return lastS;
  }
}
