/**
 * The class on the remote: start it, press, answer after an interruption.
 *
 * A press has an id of its own and is sent once more, with the same id, when
 * its answer is lost: the box counts it once.
 *
 * Not here: what a press does (the server), asking how the class stands.
 */

import { timeLine } from './class.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').Press} Press
 * @typedef {import('./wire').Hold} Hold
 * @typedef {(url: string, init: RequestInit) => Promise<Response>} Ask
 */

/** Buttons that make the class wait, and go on. @type {Hold[]} */
const HOLDS = ['pause', 'freeze', 'dark', 'leave', 'accident'];

/**
 * What a button presses, by how the class stands.
 * @param {string} name
 * @param {Hold[]} holds
 * @returns {Press}
 */
export function pressOf(name, holds) {
  const hold = /** @type {Hold} */ (name);
  if (HOLDS.indexOf(hold) < 0) {
    return name === 'end' ? { press: 'end' } : { press: 'next' };
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
 * Numbers of groups, as somebody types them: "2, 5". Nothing typed is none.
 * @param {string} text
 * @returns {number[] | null} `null` if it is no such list
 */
export function readGroups(text) {
  const parts = text.split(/[\s,;]+/).filter(function (part) { return part !== ''; });
  const numbers = parts.map(Number);
  const wrong = numbers.some(function (n) { return !(Number.isInteger(n) && n >= 1 && n <= 32); });
  return wrong ? null : numbers;
}

/**
 * All of so many groups, as somebody would type them: a class of which nobody
 * has said who is not to be shown starts covered.
 * @param {number} groups
 */
export function allGroups(groups) {
  return Array.from({ length: groups }, function (_, at) { return at + 1; }).join(', ');
}

/** An id nobody else makes up. */
function newId() {
  return Date.now().toString(36) + '-' + Math.random().toString(36).slice(2, 12);
}

export class Lesson {
  /**
   * @param {(id: string, values?: {[name: string]: string | number}) => string} words
   * @param {Ask} ask
   * @param {(body: unknown) => string} problem
   */
  constructor(words, ask, problem) {
    this.words = words;
    this.ask = ask;
    this.problem = problem;
    /** @type {ClassInfo | null} */
    this.info = null;
    this.asksGroups = false;
    each('[data-press]', (button, name) => {
      button.addEventListener('click', () => { this.press(pressOf(name, this.holds())); });
    }, 'data-press');
    each('[data-answer]', (button, name) => {
      button.addEventListener('click', () => { this.send('/api/class/answer', { answer: name }); });
    }, 'data-answer');
    part('start').addEventListener('submit', (event) => {
      event.preventDefault();
      this.start();
    });
  }

  /** @returns {Hold[]} */
  holds() {
    return this.info === null || this.info.class === null ? [] : this.info.class.holds;
  }

  start() {
    const groups = readGroups(field('start-groups').value);
    if (groups === null) {
      this.say(this.words('live-start-bad-groups'));
      return;
    }
    const start = { id: newId(), class: field('start-class').value, children: Number(field('start-children').value) };
    this.send('/api/class/start', this.asksGroups ? Object.assign({ not_shown: groups }, start) : start);
  }

  /** @param {Press} press */
  press(press) {
    const running = this.info === null ? null : this.info.class;
    const all = { id: newId(), press: press };
    this.send('/api/class/presses', running === null ? all : Object.assign({ seen: running.step }, all));
  }

  /**
   * @param {string} url
   * @param {object} body
   */
  send(url, body) {
    const init = { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
    const once = () => this.ask(url, init);
    once().catch(once).then((answer) => answer.json().catch(function () { return null; }).then((said) => {
      if (!answer.ok) {
        this.say(this.words('live-class-refused', { detail: this.problem(said) || String(answer.status) }));
        return;
      }
      const asks = Array.isArray(said.asks) && said.asks.length > 0;
      if (asks && !this.asksGroups) {
        field('start-groups').value = allGroups(said.groups);
      }
      this.asksGroups = asks;
      this.say(this.asksGroups ? this.words('live-start-asks-groups', { groups: said.groups }) : '');
      this.heard(said.now || said);
    })).catch(() => { this.say(this.words('live-class-no-answer')); });
  }

  /** @param {ClassInfo} info */
  heard(info) {
    this.info = info;
    const running = info.class;
    const none = info.asks !== null ? 'live-class-asks' : info.demo ? 'live-class-demo' : 'live-class-none';
    put('class', running === null ? this.words(none)
      : (running.title + ' ' + timeLine(running.time, info.now_us, this.words)).trim());
    const hurt = this.holds().indexOf('accident') >= 0;
    put('class-note', hurt ? this.words('live-accident-note') : '');
    part('start').hidden = running !== null || info.asks !== null || info.demo;
    part('start-groups-row').hidden = !this.asksGroups;
    part('presses').hidden = running === null;
    part('answers').hidden = info.asks === null;
    each('[data-press]', (button, name) => { text(button, this.words(labelOf(name, this.holds()))); }, 'data-press');
    each('[data-answer]', (button, name) => {
      text(button, this.words('live-answer-' + name.replace(/_/g, '-')));
    }, 'data-answer');
  }

  /** @param {string} what */
  say(what) {
    put('class-said', what);
  }
}

/**
 * @param {string} selector
 * @param {(item: HTMLElement, name: string) => void} act
 * @param {string} attribute
 */
function each(selector, act, attribute) {
  document.querySelectorAll(selector).forEach(function (item) {
    act(/** @type {HTMLElement} */ (item), item.getAttribute(attribute) || '');
  });
}

/** @param {string} id @returns {HTMLElement} */
function part(id) {
  const found = document.getElementById(id);
  if (found === null) {
    throw new Error('the remote has no part ' + id);
  }
  return found;
}

/** @param {string} id */
function field(id) {
  return /** @type {HTMLInputElement} */ (part(id));
}

/** @param {string} id @param {string} what */
function put(id, what) {
  text(part(id), what);
}

/** @param {HTMLElement} place @param {string} what */
function text(place, what) {
  if (place.textContent !== what) {
    place.textContent = what;
  }
}
