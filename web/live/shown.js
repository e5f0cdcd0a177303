/**
 * On the remote, while a class runs: why every screen is covered, where nobody
 * can tell who may be seen; and, for the teacher, who is not to be shown.
 *
 * Not here: the same before the class (start-form.js), covering (the server).
 */

import { made, part, put } from './remote-parts.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').RunningClass} RunningClass
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/**
 * Which groups are pressed before somebody presses any: all, where nobody can
 * tell.
 * @param {RunningClass} running
 * @returns {number[]}
 */
export function pressedAtFirst(running) {
  return running.not_known === null ? [] : running.groups.map(function (g) { return g.group; });
}

/**
 * Pressed once more, a group is taken out.
 * @param {number[]} groups
 * @param {number} group
 */
export function toggled(groups, group) {
  return groups.indexOf(group) >= 0 ? groups.filter(function (g) { return g !== group; })
    : groups.concat([group]).sort(function (a, b) { return a - b; });
}

/**
 * Why every screen is covered, and what can be done; nothing while it is known
 * who may be seen.
 * @param {ClassInfo} info
 * @param {boolean} leads
 * @param {Words} words
 */
export function notKnownSaid(info, leads, words) {
  const why = info.class === null ? null : info.class.not_known;
  return why === null ? ''
    : words('live-not-known-' + why) + ' ' + words(leads ? 'live-not-known-say' : 'live-not-known-ask');
}

export class ShownForm {
  /**
   * @param {Words} words
   * @param {boolean} leads the teacher's remote
   * @param {import('./presses.js').Presses} presses
   * @param {(info: ClassInfo) => void} done
   */
  constructor(words, leads, presses, done) {
    this.words = words;
    this.leads = leads;
    this.presses = presses;
    this.done = done;
    /** What is pressed; nothing until somebody presses. @type {number[] | null} */
    this.draft = null;
    /** @type {RunningClass | null} */
    this.running = null;
    if (leads) {
      part('shown-go').addEventListener('click', () => { this.send(); });
    }
  }

  /** @param {ClassInfo} info */
  heard(info) {
    put('not-known', notKnownSaid(info, this.leads, this.words));
    if (!this.leads) { return; }
    // Where the list knows, it is the list that is changed.
    const running = info.class !== null && (info.class.not_known !== null || info.class.is_said) ? info.class : null;
    const before = this.running;
    this.running = running;
    const box = /** @type {HTMLDetailsElement} */ (part('shown'));
    box.hidden = running === null;
    if (running === null || before === null || before.title !== running.title) {
      this.draft = null;
      put('shown-said', '');
    }
    if (running === null) { return; }
    // It opens by itself once there is something to say.
    if (running.not_known !== null && (before === null || before.not_known === null)) {
      box.open = true;
      this.draft = null;
      put('shown-said', '');
    }
    this.putGroups(running);
  }

  /** @param {RunningClass} running */
  putGroups(running) {
    const place = part('shown-groups');
    if (place.children.length !== running.groups.length) {
      place.textContent = '';
      running.groups.forEach((one) => {
        const button = made('button', '', String(one.group));
        button.setAttribute('type', 'button');
        button.setAttribute('data-shown-group', String(one.group));
        button.setAttribute('aria-label', this.words('live-start-group', { group: one.group }));
        button.addEventListener('click', () => { this.toggle(one.group); });
        place.appendChild(button);
      });
    }
    const pressed = this.draft || pressedAtFirst(running);
    Array.from(place.children).forEach(function (button) {
      const group = Number(button.getAttribute('data-shown-group'));
      button.setAttribute('aria-pressed', String(pressed.indexOf(group) >= 0));
    });
  }

  /** @param {number} group */
  toggle(group) {
    if (this.running === null) { return; }
    this.draft = toggled(this.draft || pressedAtFirst(this.running), group);
    put('shown-said', '');
    this.putGroups(this.running);
  }

  send() {
    if (this.running === null) { return; }
    const groups = this.draft || pressedAtFirst(this.running);
    // What is sent stays pressed.
    this.draft = groups;
    this.presses.press('/api/class/shown', { not_shown: groups }, this.words('live-shown-press'), (info) => {
      this.done(info);
      put('shown-said', groups.length === 0 ? this.words('live-shown-none')
        : this.words('live-shown-some', { groups: groups.join(', ') }));
    });
  }
}
