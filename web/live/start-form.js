/**
 * The start on the remote: asks little, says what follows, and sends it.
 *
 * Not here: what follows from what (start.js), sending (presses.js).
 */

import { newId } from './presses.js';
import { refineChoice, refineChosen } from './refine-choice.js';
import { each, field, made, part, put } from './remote-parts.js';
import { circuitS, draftOf, goesOnWith, gradeIn, lessonS, openStations, sizesSaid, spread, startOf, stationsFor, turnsOf, within, withChange } from './start.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').StartInfo} StartInfo
 * @typedef {import('./start.js').Draft} Draft
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

const MOST_CHILDREN = 200;
const MOST_GROUPS = 32;

export class StartForm {
  /**
   * @param {Words} words
   * @param {string} lang
   * @param {import('./presses.js').Presses} presses
   * @param {() => Promise<StartInfo>} ask what start asks
   * @param {(info: ClassInfo) => void} started
   */
  constructor(words, lang, presses, ask, started) {
    this.words = words;
    this.lang = lang === 'es' ? /** @type {'es'} */ ('es') : /** @type {'en'} */ ('en');
    this.presses = presses;
    this.ask = ask;
    this.started = started;
    /** @type {StartInfo | null} */
    this.info = null;
    /** @type {Draft | null} */
    this.draft = null;
    this.offered = false;
    this.asking = false;
    this.listen();
  }

  /** What is asked shows up as soon as there is something to start. @param {ClassInfo} info */
  heard(info) {
    const demo = info.demo && (info.class === null || info.class.demo);
    const offer = info.asks === null && (info.class === null || demo);
    part('start-demo').hidden = !info.demo;
    if (offer && !this.offered) {
      part('start-box').hidden = false;
      /** @type {HTMLDetailsElement} */ (part('start-box')).open = !demo;
      this.draft = null;
    }
    if (offer && this.draft === null && !this.asking) {
      this.asking = true;
      this.ask().then((all) => { this.asking = false; this.know(all); }, () => { this.asking = false; });
    }
    if (!offer) { part('start-box').hidden = true; }
    this.offered = offer;
  }

  /** @param {StartInfo} all */
  know(all) {
    this.info = all;
    const place = part('start-known');
    place.textContent = '';
    all.classes.slice(0, 12).forEach((known) => {
      const button = made('button', '', known.title);
      button.setAttribute('type', 'button');
      button.setAttribute('data-known', known.title);
      button.addEventListener('click', () => { this.choose(known.title); });
      place.appendChild(button);
    });
    this.choose(all.classes.length === 0 ? '' : all.classes[0].title);
  }

  /** @param {string} title */
  choose(title) {
    if (this.info === null) { return; }
    this.draft = draftOf(this.info, this.known(title), title);
    field('start-class').value = title;
    put('start-said', '');
    this.fill();
    this.put();
  }

  /** @param {string} title */
  known(title) {
    const all = this.info === null ? [] : this.info.classes;
    return all.filter(function (one) { return one.title === title.trim(); })[0] || null;
  }

  listen() {
    field('start-class').addEventListener('input', () => {
      const title = field('start-class').value;
      const draft = this.draft;
      if (draft === null || this.info === null) { return; }
      if (this.known(title) !== null || this.known(draft.title) !== null) {
        const children = draft.children;
        this.draft = draftOf(this.info, this.known(title), title);
        if (this.known(title) === null) { this.draft.children = children; }
      } else {
        draft.title = title;
        if (draft.grade === null || draft.grade === gradeIn(draft.title)) { draft.grade = gradeIn(title); }
      }
      const children = this.known(title) === null ? inList(title) : 0;
      if (children > 0 && this.draft !== null) { this.draft.children = within(children, 1, MOST_CHILDREN); }
      this.fill();
      this.put();
    });
    this.number('start-children', (draft, n) => { draft.children = within(n, 1, MOST_CHILDREN); });
    this.number('start-group-count', (draft, n) => { draft.groups = within(n, 1, MOST_GROUPS); draft.notShown = this.stillShown(); });
    this.number('start-work', (draft, n) => { draft.times = Object.assign({}, draft.times, { work_s: within(n, draft.times.last_turn_s + 5, 3600) }); });
    this.number('start-change', (draft, n) => { draft.times = withChange(draft.times, within(n, 0, 600)); });
    each('.stepper', 'data-step', (row) => {
      const input = /** @type {HTMLInputElement} */ (row.querySelector('input'));
      row.querySelectorAll('button').forEach((button) => {
        button.addEventListener('click', () => {
          input.value = String((Number(input.value) || 0) + Number(button.getAttribute('data-by')));
          input.dispatchEvent(new Event('change'));
        });
      });
    });
    each('[data-grade]', 'data-grade', (button, grade) => {
      button.addEventListener('click', () => { this.change((draft) => { draft.grade = Number(grade); draft.ticked = []; draft.asItStands = []; }); });
    });
    each('[data-anew]', 'data-anew', (button, anew) => {
      button.addEventListener('click', () => { this.change((draft) => { draft.anew = anew === 'true'; }); });
    });
    field('start-no-spotter').addEventListener('change', () => { this.change((draft) => { draft.noSpotter = field('start-no-spotter').checked; }); });
    field('start-briefing').addEventListener('change', () => { this.change((draft) => { draft.cameraBriefing = field('start-briefing').checked; }); });
    field('start-quiet').addEventListener('change', () => { this.change((draft) => { draft.quiet = field('start-quiet').checked; }); });
    refineChoice(part('start-refine'), this.words, (cue) => { this.change((draft) => { draft.refine = cue; }); });
    part('start-all-shown').addEventListener('click', () => { this.change((draft) => { draft.notShown = []; }); });
    part('start').addEventListener('submit', (event) => {
      event.preventDefault();
      this.start();
    });
  }

  /** With other groups, what was known of the old ones says nothing. */
  stillShown() {
    const known = this.draft === null ? null : this.known(this.draft.title);
    return known !== null && this.draft !== null && known.groups === this.draft.groups ? known.not_shown : null;
  }

  /** @param {(draft: Draft) => void} how */
  change(how) {
    if (this.draft === null) { return; }
    how(this.draft);
    this.put();
  }

  /** @param {string} id @param {(draft: Draft, n: number) => void} set */
  number(id, set) {
    field(id).addEventListener('change', () => {
      const n = Number(field(id).value.trim());
      this.change((draft) => { if (Number.isFinite(n)) { set(draft, n); } });
      this.fill();
    });
  }

  /** The fields, as the draft has them. */
  fill() {
    const draft = this.draft;
    if (draft === null) { return; }
    field('start-children').value = String(draft.children);
    field('start-group-count').value = String(this.groups());
    field('start-work').value = String(draft.times.work_s);
    field('start-change').value = String(draft.times.gather_s + draft.times.walk_s);
    field('start-no-spotter').checked = draft.noSpotter;
    field('start-briefing').checked = draft.cameraBriefing;
    field('start-quiet').checked = draft.quiet;
  }

  /** How many groups there will be. */
  groups() {
    const draft = this.draft;
    if (draft === null || this.info === null) { return 0; }
    const open = openStations(stationsFor(this.info, draft.grade), draft).length;
    return draft.groups === null ? Math.max(1, Math.min(open, MOST_GROUPS)) : draft.groups;
  }

  put() {
    const draft = this.draft;
    if (draft === null || this.info === null) { return; }
    const known = this.known(draft.title);
    const stations = stationsFor(this.info, draft.grade);
    const groups = this.groups();
    const sizes = spread(draft.children, groups, stations.some(function (s) { return s.in_pairs; }));
    const goesOn = goesOnWith(known);
    each('[data-known]', 'data-known', (b, title) => { pressed(b, draft.title === title); });
    each('[data-grade]', 'data-grade', (b, grade) => { pressed(b, String(draft.grade) === grade); });
    each('[data-anew]', 'data-anew', (b, anew) => {
      pressed(b, String(draft.anew) === anew);
      if (anew === 'false') { b.textContent = this.words('live-start-goes-on', { turn: goesOn || 0, turns: (known && known.turns) || 0 }); }
    });
    part('start-goes-on').hidden = goesOn === null;
    put('start-spread', sizesSaid(sizes).map((one) => this.words(one[0] === 0 ? 'live-start-empty' : 'live-start-of', { groups: one[1], children: one[0] })).join(', '));
    this.putChanges(stations, draft);
    refineChosen(part('start-refine'), draft.refine);
    const spotted = stations.filter(function (s) { return s.hands !== 'none'; });
    part('start-spotter').hidden = spotted.length === 0;
    put('start-spotted', !draft.noSpotter ? '' : spotted.map((s) => this.words('live-start-hands-' + s.hands, { station: s.number })).join(' '));
    this.putGroups(groups, draft);
    const turns = turnsOf(known, draft, openStations(stations, draft).length, groups);
    put('start-total', this.words('live-start-total', {
      circuit: this.time(circuitS(draft.times, turns)), lesson: this.time(lessonS(draft.times, turns, draft.cameraBriefing)),
    }));
    field('start-group-count').value = String(groups);
  }

  /** @param {import('./wire').StartStation[]} stations @param {Draft} draft */
  putChanges(stations, draft) {
    const changes = stations.filter(function (s) { return s.change !== null; });
    part('start-changes').hidden = changes.length === 0;
    const list = part('start-changes-list');
    const said = JSON.stringify([draft.grade, changes]);
    if (list.getAttribute('data-said') !== said) {
      list.setAttribute('data-said', said);
      list.textContent = '';
      changes.forEach((s) => { list.appendChild(this.changeItem(s)); });
    }
    list.querySelectorAll('input').forEach(function (input) {
      const number = Number(input.getAttribute('data-number'));
      const of = input.getAttribute('data-kind') === 'ticked' ? draft.ticked : draft.asItStands;
      input.checked = of.indexOf(number) >= 0;
    });
  }

  /** @param {import('./wire').StartStation} s */
  changeItem(s) {
    const item = document.createElement('li');
    const change = s.change;
    if (change === null) { return item; }
    item.appendChild(made('strong', '', this.words('live-start-station', { station: s.number })));
    const lines = document.createElement('ul');
    change.gone.forEach((line) => { lines.appendChild(made('li', 'away', this.words('live-start-away', { what: line[this.lang] }))); });
    change.come.forEach((line) => { lines.appendChild(made('li', 'come', this.words('live-start-come', { what: line[this.lang] }))); });
    item.appendChild(lines);
    item.appendChild(this.tick(s.number, 'ticked', 'live-start-done'));
    if (change.easier_as_it_stands) { item.appendChild(this.tick(s.number, 'asItStands', 'live-start-easier')); }
    return item;
  }

  /** @param {number} number @param {'ticked' | 'asItStands'} kind @param {string} id */
  tick(number, kind, id) {
    const label = made('label', 'tick', '');
    const input = document.createElement('input');
    input.type = 'checkbox';
    input.setAttribute('data-number', String(number));
    input.setAttribute('data-kind', kind);
    input.addEventListener('change', () => {
      this.change((draft) => {
        // One or the other: either it was set up anew, or it stands as it did.
        draft.ticked = draft.ticked.filter(function (n) { return n !== number; });
        draft.asItStands = draft.asItStands.filter(function (n) { return n !== number; });
        if (input.checked) { draft[kind].push(number); }
      });
    });
    label.appendChild(input);
    label.appendChild(made('span', '', this.words(id, { station: number })));
    return label;
  }

  /** @param {number} groups @param {Draft} draft */
  putGroups(groups, draft) {
    const place = part('start-groups');
    if (place.children.length !== groups) {
      place.textContent = '';
      for (let group = 1; group <= groups; group += 1) {
        const button = made('button', '', String(group));
        button.setAttribute('type', 'button');
        button.setAttribute('data-group', String(group));
        button.setAttribute('aria-label', this.words('live-start-group', { group: group }));
        button.addEventListener('click', () => {
          this.change((now) => {
            const all = now.notShown || [];
            now.notShown = all.indexOf(group) >= 0 ? all.filter(function (g) { return g !== group; }) : all.concat([group]);
          });
        });
        place.appendChild(button);
      }
    }
    const hidden = draft.notShown === null ? [] : draft.notShown;
    each('[data-group]', 'data-group', (b, group) => { pressed(b, hidden.indexOf(Number(group)) >= 0); });
    pressed(part('start-all-shown'), draft.notShown !== null && hidden.length === 0);
  }

  /** "35 min 30 s". @param {number} s */
  time(s) {
    return this.words(s % 60 === 0 ? 'live-start-minutes' : 'live-start-minutes-seconds', { minutes: Math.floor(s / 60), seconds: s % 60 });
  }

  start() {
    const draft = this.draft;
    if (draft === null) { return; }
    const missing = draft.title.trim() === '';
    put('start-said', missing ? this.words('live-start-no-title') : '');
    if (missing) { return; }
    const label = this.words('live-start-class', { class: draft.title.trim() });
    this.presses.press('/api/class/start', startOf(newId(), draft), label, (said) => {
      if (Array.isArray(said.asks) && said.asks.length > 0) {
        // Nobody has said: all are covered, but those that somebody takes out.
        this.change(function (now) {
          now.groups = said.groups;
          now.notShown = Array.from({ length: said.groups }, function (_, at) { return at + 1; });
        });
        put('start-said', this.words('live-start-asks-groups'));
        return;
      }
      this.started(said.now);
    });
  }
}

/** How many children the list has in a class; 0 for one that is not in it. @param {string} title */
function inList(title) {
  let children = 0;
  each('#start-classes option', 'value', (option, value) => {
    if (value === title.trim()) { children = Number(option.getAttribute('data-children')) || 0; }
  });
  return children;
}

/** @param {Element} button @param {boolean} is */
function pressed(button, is) {
  button.setAttribute('aria-pressed', String(is));
}
