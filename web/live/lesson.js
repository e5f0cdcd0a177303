/**
 * The class on the remote: how it stands, at a glance; presses; the answer after
 * an interruption; what is noted of an accident.
 *
 * Not here: what a press does (the server), sending it (presses.js), the start
 * (start-form.js), asking how the class stands.
 */

import { leftMs, minutes } from './class.js';
import { each, part, put, text } from './remote-parts.js';
import { newId } from './presses.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').Accident} Accident
 * @typedef {import('./wire').Press} Press
 * @typedef {import('./wire').Hold} Hold
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/** Buttons that make the class wait, and go on. @type {Hold[]} */
const HOLDS = ['pause', 'freeze', 'dark', 'leave', 'accident'];
/** What is older than this is not said as if it were so. */
export const STALE_MS = 3500;
/** No answer overtakes another by more. */
const OVERTAKEN_US = 10e6;

/**
 * What a button presses, by how the class stands.
 * @param {string} name
 * @param {Hold[]} holds
 * @returns {Press}
 */
export function pressOf(name, holds) {
  const hold = /** @type {Hold} */ (name);
  if (HOLDS.indexOf(hold) < 0) {
    return { press: /** @type {'next' | 'back' | 'more' | 'finish' | 'end'} */ (name) };
  }
  return holds.indexOf(hold) < 0 ? { press: 'hold', hold: hold } : { press: 'resume', hold: hold };
}

/**
 * Which sentence a button has.
 * @param {string} name
 * @param {Hold[]} holds
 */
export function labelOf(name, holds) {
  return pressOf(name, holds).press === 'resume' ? 'live-resume-' + name : 'live-press-' + name;
}

/**
 * The class in a few parts, the largest last.
 * @param {ClassInfo} info
 * @param {number} ageMs how long ago the box said so
 * @param {Words} words
 * @returns {{title: string, phase: string, left: string, turn: string}}
 */
export function glance(info, ageMs, words) {
  const running = info.class;
  if (running === null) {
    const none = info.asks !== null ? 'live-class-asks' : info.demo ? 'live-class-demo' : 'live-class-none';
    return { title: info.asks === null ? '' : info.asks.title, phase: words(none), left: '', turn: '' };
  }
  const time = running.time;
  const phase = words(time.hold === null ? 'live-phase-' + time.phase.replace(/_/g, '-') : 'live-held-' + time.hold);
  const left = minutes(leftMs(time, info.now_us + ageMs * 1000));
  return {
    title: running.title,
    phase: phase,
    left: left,
    turn: words('live-class-turn', { turn: time.turn, turns: time.turns }),
  };
}

/**
 * What is noted of an accident, in a line.
 * @param {Accident} accident
 * @param {string} lang
 * @param {Words} words
 */
export function noted(accident, lang, words) {
  const at = new Date(accident.wall_ms).toLocaleTimeString(lang, { hour: 'numeric', minute: '2-digit' });
  return accident.station === null
    ? words('live-accident-noted', { time: at })
    : words('live-accident-noted-at', { time: at, station: accident.station, setup: accident.setup });
}

export class Lesson {
  /**
   * @param {Words} words
   * @param {string} lang
   * @param {import('./presses.js').Presses} presses
   * @param {() => number} nowMs
   */
  constructor(words, lang, presses, nowMs) {
    this.words = words;
    this.lang = lang;
    this.presses = presses;
    this.nowMs = nowMs;
    /** @type {ClassInfo | null} */
    this.info = null;
    this.heardMs = 0;
    /** @type {(info: ClassInfo) => void} */
    this.onInfo = function () { /* Nobody else listens yet. */ };
    each('[data-press]', 'data-press', (button, name) => {
      button.addEventListener('click', () => {
        this.press(pressOf(name, this.holds()), this.words(labelOf(name, this.holds())));
      });
    });
    each('[data-answer]', 'data-answer', (button, name) => {
      button.addEventListener('click', () => {
        this.send('/api/class/answer', { answer: name }, button.textContent || '');
      });
    });
    each('[data-where]', 'data-where', (button, number) => {
      button.addEventListener('click', () => {
        this.press({ press: 'accident_at', station: Number(number) }, this.words('live-accident-at', { station: number }));
      });
    });
  }

  /** @returns {Hold[]} */
  holds() {
    return this.info === null || this.info.class === null ? [] : this.info.class.holds;
  }

  /** @param {Press} press @param {string} label */
  press(press, label) {
    const running = this.info === null ? null : this.info.class;
    const all = { id: newId(), press: press };
    this.send('/api/class/presses', running === null ? all : Object.assign({ seen: running.step }, all), label);
  }

  /** @param {import('./wire').ClassChange} change @param {string} label */
  change(change, label) {
    this.send('/api/class/changes', change, label);
  }

  /** @param {string} url @param {object} body @param {string} label */
  send(url, body, label) {
    this.presses.press(url, body, label, (said) => { this.heard(said.now || said); });
  }

  /** @param {ClassInfo} info */
  heard(info) {
    // An answer from before the last one would show again what is over; one from
    // long before is of a box whose clock was set.
    const older = this.info === null ? 0 : this.info.now_us - info.now_us;
    if (older > 0 && older < OVERTAKEN_US) {
      return;
    }
    this.info = info;
    this.heardMs = this.nowMs();
    const running = info.class;
    const hurt = this.holds().indexOf('accident') >= 0;
    put('class-note', hurt ? this.words('live-accident-note') : '');
    part('where').hidden = !hurt;
    put('noted', running === null || running.accidents.length === 0 ? ''
      : noted(running.accidents[running.accidents.length - 1], this.lang, this.words));
    part('presses').hidden = running === null;
    part('ending').hidden = running === null;
    part('answers').hidden = info.asks === null;
    put('why', info.asks === null ? '' : this.words('live-asks-' + info.asks.why.replace(/_/g, '-')));
    each('[data-press]', 'data-press', (button, name) => {
      text(button, this.words(labelOf(name, this.holds())));
      button.setAttribute('data-on', String(pressOf(name, this.holds()).press === 'resume'));
    });
    each('[data-answer]', 'data-answer', (button, name) => {
      const stands = info.asks === null ? null : name === 'go_on' ? info.asks.going_on : name === 'as_it_was' ? info.asks.as_it_was : null;
      const said = this.words('live-answer-' + name.replace(/_/g, '-'));
      text(button, stands === null ? said : said + ' (' + this.words('live-phase-' + stands.phase.replace(/_/g, '-')) + ' ' + minutes(stands.left_ms) + ')');
    });
    this.tick();
    this.onInfo(info);
  }

  /** The time runs on while nobody says anything; what is old is not said. */
  tick() {
    if (this.info === null) {
      return;
    }
    const age = this.nowMs() - this.heardMs;
    const stale = age > STALE_MS;
    const said = glance(this.info, age, this.words);
    put('class-title', said.title);
    put('class-phase', stale ? this.words('live-class-stale') : said.phase);
    put('class-left', stale ? '' : said.left);
    put('class-turn', stale ? '' : said.turn);
    const running = this.info.class;
    part('top').setAttribute('data-hold', running === null || running.time.hold === null ? '' : running.time.hold);
  }
}
