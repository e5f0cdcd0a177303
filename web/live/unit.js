/**
 * The editor of a unit: loads it, keeps what is typed, has the box look at each
 * change, and saves against the version it began from.
 *
 * Not here: the form itself (unit-form.js), what changes do (unit-draft.js).
 */

import { Draft, differences } from './unit-draft.js';
import { GRADE_NAMES } from './unit-fields.js';
import { Form } from './unit-form.js';
import { make } from './page-parts.js';
import { drawRoom } from './unit-preview.js';
import { wordsFrom } from './words.js';

/** @typedef {import('./unit-draft.js').Edit} Edit */

/** Typing is let go on this long before the box looks at it. */
const LOOK_AFTER_MS = 500;
/** How often the box is asked whether a text editor changed the file. */
const ASK_MS = 3000;
/** An answer later than this is none. */
const PATIENCE_MS = 8000;

/** @param {string} id */
function part(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error('the page has no ' + id);
  return element;
}

const words = wordsFrom(part('words').textContent || '{}');
const lang = document.documentElement.lang;
const name = part('unit').getAttribute('data-name') || '';
const path = '/api/units/' + name;
const kept = 'afterturn-unit-' + name;
const grade = /** @type {HTMLSelectElement} */ (part('grade'));
const form = new Form(part('form'), words, lang, change);
/** @type {Draft | null} */
let draft = null;
/** @type {string[]} */
let earlier = [];
let looking = 0;
let asked = 0;
let saving = false;

/**
 * @param {string} url
 * @param {string} [method]
 * @param {any} [body]
 * @returns {Promise<{status: number, body: any}>}
 */
function ask(url, method, body) {
  const stop = new AbortController();
  const timer = setTimeout(function () { stop.abort(); }, PATIENCE_MS);
  /** @type {RequestInit} */
  const init = { method: method || 'GET', signal: stop.signal, cache: 'no-store' };
  if (body) {
    init.body = JSON.stringify(body);
    init.headers = { 'content-type': 'application/json' };
  }
  return fetch(url, init).then(function (answer) {
    return answer.json().then(function (json) {
      clearTimeout(timer);
      return { status: answer.status, body: json };
    });
  });
}

/** @param {string} text */
function say(text) { part('said').textContent = text; }

function noAnswer() { say(words('live-unit-no-answer')); }

/** Keeps what is typed over a reload of the page. */
function keep() {
  if (!draft) return;
  try {
    if (draft.dirty) sessionStorage.setItem(kept, JSON.stringify({ version: draft.version, edits: draft.edits }));
    else sessionStorage.removeItem(kept);
  } catch (problem) {
    console.warn('typing is not kept over a reload', problem);
  }
}

/** @returns {{version: string, edits: Edit[]} | null} */
function keptBefore() {
  try {
    return JSON.parse(sessionStorage.getItem(kept) || 'null');
  } catch (problem) {
    return null;
  }
}

function buttons() {
  const dirty = draft !== null && draft.dirty;
  part('undo').setAttribute('aria-disabled', String(!dirty));
  part('save').setAttribute('aria-disabled', String(!dirty || saving));
  part('back').hidden = dirty || earlier.length < 2;
}

/**
 * A change from the form.
 * @param {Edit} edit
 * @param {boolean} redraw
 */
function change(edit, redraw) {
  if (!draft || !draft.make(edit)) return;
  form.unit = draft.document;
  if (redraw) form.draw(draft.document);
  say('');
  after();
}

function after() {
  keep();
  buttons();
  clearTimeout(looking);
  looking = window.setTimeout(look, LOOK_AFTER_MS);
}

/** Has the box look at what is typed so far. */
function look() {
  if (!draft) return Promise.resolve();
  const now = draft;
  const number = asked += 1;
  const body = { version: now.version, edits: now.edits, grade: grade.value };
  return ask(path + '/trial', 'POST', body).then(function (answer) {
    if (number !== asked || draft !== now) return;
    if (answer.status !== 200) {
      say(answer.body.detail);
      return;
    }
    mistakes(answer.body.notes);
    drawRoom(part('room'), answer.body.room, answer.body.document, words, lang);
  }, noAnswer);
}

/** @param {import('./unit-form.js').Note[]} notes */
function mistakes(notes) {
  const rest = form.say(notes);
  const list = part('mistakes');
  while (list.lastChild) list.removeChild(list.lastChild);
  rest.forEach(function (note) { list.append(make('li', {}, [note.line + ': ' + form.sentences(note)])); });
  const count = notes.filter(function (note) { return !note.warning; }).length;
  const warnings = notes.length - count;
  part('count').textContent = (count ? words('live-unit-mistakes', { count: count }) : '')
    + (count && warnings ? ' · ' : '') + (warnings ? words('live-unit-warnings', { count: warnings }) : '');
}

/**
 * The unit as the box has it now.
 * @param {any} body
 * @param {Edit[]} [edits] to be made on it
 */
function take(body, edits) {
  draft = new Draft(body.version, body.document, edits);
  earlier = body.earlier;
  form.draw(draft.document);
  part('clash').hidden = true;
  mistakes(draft.dirty ? [] : body.notes);
  after();
}

function load() {
  return ask(path).then(function (answer) {
    if (answer.status !== 200) {
      say(answer.body.detail);
      return;
    }
    const before = keptBefore();
    take(answer.body, before ? before.edits : []);
    if (before && draft && draft.dirty) {
      say(words(before.version === answer.body.version ? 'live-unit-kept' : 'live-unit-kept-onto'));
    }
  }, noAnswer);
}

/** @param {string} [restore] an earlier version instead of the changes */
function save(restore) {
  if (!draft || saving || (!draft.dirty && !restore)) return;
  saving = true;
  buttons();
  const now = draft;
  const count = now.edits.length;
  const body = restore ? { version: now.version, restore: restore } : { version: now.version, edits: now.edits.slice() };
  say(words('live-unit-saving'));
  ask(path, 'PUT', body).then(function (answer) {
    saving = false;
    if (answer.status === 200) {
      // What was typed while it was saved comes on top.
      const since = draft === now ? now.edits.slice(count) : [];
      take(answer.body, since);
      say(words('live-unit-saved'));
    } else if (answer.status === 409) {
      clash(answer.body.theirs, answer.body.yours);
    } else {
      if (answer.body.notes) mistakes(answer.body.notes);
      say(answer.body.notes ? words('live-unit-not-saved') : answer.body.detail);
      form.toFirstMistake();
    }
    buttons();
  }, function () {
    saving = false;
    buttons();
    noAnswer();
  });
}

/**
 * Somebody else changed the file: both versions, and a choice.
 * @param {any} theirs
 * @param {any} yours
 */
function clash(theirs, yours) {
  if (!draft) return;
  const mine = draft;
  const list = part('differences');
  while (list.lastChild) list.removeChild(list.lastChild);
  differences(yours ? yours.document : mine.document, theirs.document).forEach(function (one) {
    /** @param {any} value */
    const shown = function (value) { return value === undefined ? '–' : typeof value === 'object' ? JSON.stringify(value) : String(value); };
    list.append(make('li', {}, [
      make('p', { class: 'name' }, [one.at.join(' › ')]),
      make('p', {}, [words('live-unit-yours', { value: shown(one.ours) })]),
      make('p', {}, [words('live-unit-theirs', { value: shown(one.theirs) })]),
    ]));
  });
  part('clash').hidden = false;
  say('');
  part('clash-title').focus();
  part('mine').onclick = function () {
    take(theirs, mine.edits);
    say(draft && draft.lost.length ? words('live-unit-some-lost', { count: draft.lost.length }) : words('live-unit-onto'));
  };
  part('theirs').onclick = function () {
    take(theirs);
    say(words('live-unit-kept-theirs'));
  };
}

/** Whether a text editor changed the file meanwhile. */
function watch() {
  if (!draft || saving || document.hidden || !part('clash').hidden) return;
  ask('/api/units').then(function (answer) {
    if (answer.status !== 200 || !draft || saving) return;
    const one = answer.body.find(function (/** @type {any} */ unit) { return unit.name === name; });
    if (!one || one.version === draft.version) return;
    ask(path).then(function (now) {
      if (now.status !== 200 || !draft || now.body.version === draft.version) return;
      if (draft.dirty) clash(now.body, null);
      else {
        take(now.body);
        say(words('live-unit-changed'));
      }
    }, noAnswer);
  }, function () { /* It is asked again; saving says so if it matters. */ });
}

GRADE_NAMES.forEach(function (one) { grade.append(make('option', { value: one }, [one])); });
grade.addEventListener('change', look);
part('undo').addEventListener('click', function () {
  if (draft && draft.undo()) {
    form.draw(draft.document);
    say(words('live-unit-undone'));
    after();
  }
});
part('save').addEventListener('click', function () { save(); });
part('back').addEventListener('click', function () { save(earlier[earlier.length - 2]); });
document.addEventListener('keydown', function (event) {
  if ((event.ctrlKey || event.metaKey) && event.key === 's') {
    event.preventDefault();
    save();
  }
});
load();
setInterval(watch, ASK_MS);
