/**
 * The single fields of a unit's form: texts in each language, numbers, choices,
 * lists, and the buttons that put one of a row elsewhere.
 *
 * Not here: how they stand together (unit-form.js).
 */

import { make } from './page-parts.js';
import { nameInRow, valueAt } from './unit-draft.js';
import { pictureField } from './unit-picture.js';
import { RUNS, emptyText, inLanguage, numberShown, numberTyped, textEdit } from './unit-fields.js';

/** @typedef {import('./unit-draft.js').Edit} Edit */
/** @typedef {import('./unit-draft.js').Path} Path */
/** @typedef {import('./unit-fields.js').Field} Field */
/** @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words */

const NEEDED = ['title', 'task', 'watch_from', 'reset', 'item', 'text'];

export class Inputs {
  /**
   * @param {HTMLElement} root
   * @param {Words} words
   * @param {string} lang the page's
   * @param {(edit: Edit, redraw: boolean) => void} change
   */
  constructor(root, words, lang, change) {
    this.root = root;
    this.words = words;
    this.lang = lang;
    this.change = change;
    /** @type {any} */
    this.unit = {};
    /** @type {string[]} */
    this.languages = ['en'];
    /** Which parts are open, by path. @type {{[path: string]: boolean}} */
    this.open = {};
    /** Where a mistake can be shown. @type {{path: Path, input: HTMLElement | null, said: HTMLElement}[]} */
    this.places = [];
  }

  /** @returns {any[]} */
  stations() {
    return Array.isArray(this.unit.station) ? this.unit.station : [];
  }

  /** @param {Path} path */
  key(path) { return path.join('.'); }

  /**
   * Where a mistake about a path is said.
   * @param {Path} path
   * @param {HTMLElement | null} input
   */
  place(path, input) {
    const said = make('p', { class: 'said', id: 'said-' + this.key(path) });
    said.hidden = true;
    if (input) input.setAttribute('aria-describedby', said.id);
    this.places.push({ path: path, input: input, said: said });
    return said;
  }

  /**
   * @param {string} id
   * @param {string} text
   * @param {() => void} press
   * @param {string} [unseen] what it is about
   */
  button(id, text, press, unseen) {
    const button = make('button', { type: 'button', id: id }, [text]);
    if (unseen) button.append(make('span', { class: 'unseen' }, [': ' + unseen]));
    button.addEventListener('click', press);
    return button;
  }

  /**
   * The buttons that move one of a row and take it out.
   * @param {Path} path
   * @param {any[]} row
   * @param {number} at
   * @param {string} name
   */
  order(path, row, at, name) {
    const key = this.key(path);
    const buttons = make('p', { class: 'order' });
    /** @param {number} to */
    const before = function (to) { return to < row.length ? nameInRow(row[to], to) : undefined; };
    if (at > 0) {
      buttons.append(this.button('up-' + key, this.words('live-unit-up'), () => {
        this.change({ move: { at: path, before: before(at - 1) } }, true);
      }, name));
    }
    if (at < row.length - 1) {
      buttons.append(this.button('down-' + key, this.words('live-unit-down'), () => {
        const target = before(at + 2);
        this.change({ move: target === undefined ? { at: path } : { at: path, before: target } }, true);
      }, name));
    }
    buttons.append(this.button('remove-' + key, this.words('live-unit-remove'), () => {
      this.change({ remove: { at: path } }, true);
    }, name));
    return buttons;
  }

  /**
   * @param {Path} above
   * @param {Field} field
   * @param {any} holder
   * @returns {HTMLElement}
   */
  field(above, field, holder) {
    const path = above.concat(field.key);
    if (field.kind === 'text' || field.kind === 'long') {
      const needed = NEEDED.indexOf(field.key) >= 0;
      return this.text(path, field, holder[field.key], needed);
    }
    if (field.kind === 'texts') return this.texts(path, field, holder[field.key]);
    if (field.kind === 'picture') return pictureField(this, path, holder);
    const id = 'field-' + this.key(path);
    const input = this.input(id, path, field, holder);
    const label = make('label', { for: id }, [this.words(field.label)]);
    const parts = field.kind === 'flag' ? [input, label] : [label, input];
    return make('div', { class: field.kind === 'flag' ? 'field flag' : 'field' }, [...parts, this.place(path, input)]);
  }

  /**
   * A field that holds one value.
   * @param {string} id
   * @param {Path} path
   * @param {Field} field
   * @param {any} holder
   * @returns {HTMLElement}
   */
  input(id, path, field, holder) {
    const value = holder[field.key];
    if (field.kind === 'flag') {
      const box = /** @type {HTMLInputElement} */ (make('input', { id: id, type: 'checkbox' }));
      box.checked = value === true;
      box.addEventListener('change', () => { this.change({ set: { at: path, to: box.checked } }, false); });
      return box;
    }
    if (field.kind === 'number' || field.kind === 'seconds') {
      const kind = field.kind;
      const box = /** @type {HTMLInputElement} */ (make('input', { id: id, type: 'text', inputmode: 'decimal', autocomplete: 'off' }));
      box.value = numberShown(value, kind);
      box.addEventListener('input', () => { this.set(path, numberTyped(box.value, kind)); });
      return box;
    }
    if (field.kind === 'name') {
      const box = /** @type {HTMLInputElement} */ (make('input', { id: id, type: 'text', autocomplete: 'off' }));
      box.value = value === undefined ? '' : String(value);
      const needed = path[0] === 'permission';
      box.addEventListener('input', () => { this.set(path, box.value === '' && !needed ? null : box.value); });
      return box;
    }
    const select = /** @type {HTMLSelectElement} */ (make('select', { id: id }));
    const options = this.options(path, field);
    // What is wrong in the file stays there until something else is chosen.
    if (value !== undefined && !options.some(function (one) { return one[0] === value; })) options.push([String(value), String(value)]);
    options.forEach(function (one) { select.append(make('option', { value: one[0] }, [one[1]])); });
    select.value = value === undefined ? '' : String(value);
    select.addEventListener('change', () => { this.set(path, select.value === '' ? null : select.value); });
    return select;
  }

  /** Whether there is a value. @param {Path} path */
  has(path) { return valueAt(this.unit, path) !== undefined; }

  /**
   * Sets a value; of a key that is not there, nothing is taken out.
   * @param {Path} path
   * @param {any} to
   */
  set(path, to) {
    if (to === null && valueAt(this.unit, path) === undefined) return;
    this.change({ set: { at: path, to: to } }, false);
  }

  /**
   * @param {Path} path
   * @param {Field} field
   * @returns {[string, string][]}
   */
  options(path, field) {
    const title = (/** @type {any} */ one) => inLanguage(one.title, this.lang) || inLanguage(one.title, this.languages[0]);
    /** @type {[string, string][]} */
    const none = [['', '–']];
    if (field.kind === 'grades') return none.concat(RUNS.map(function (run) { return [run, run.replace('-', '–')]; }));
    if (field.kind === 'choice') {
      const must = ['shape', 'colour', 'way', 'what'].indexOf(field.key) >= 0;
      const all = (field.options || []).map((one) => /** @type {[string, string]} */ ([one[0], this.words(one[1])]));
      return must ? all : none.concat(all);
    }
    const holder = valueAt(this.unit, path.slice(0, 2)) || {};
    const stations = field.kind === 'level' ? this.stations() : [holder];
    const keys = field.kind === 'level' ? ['level'] : ['level', 'other_way'];
    stations.forEach(function (/** @type {any} */ station) {
      keys.forEach(function (key) {
        (Array.isArray(station[key]) ? station[key] : []).forEach(function (/** @type {any} */ one) {
          if (typeof one.id === 'string' && one.id !== path[path.length - 2]) none.push([one.id, title(one)]);
        });
      });
    });
    return none;
  }

  /**
   * A text, a field for each language.
   * @param {Path} path
   * @param {Field} field
   * @param {any} text
   * @param {boolean} needed
   * @param {string} [name]
   * @returns {HTMLElement}
   */
  text(path, field, text, needed, name) {
    const part = make('div', { class: 'field' });
    this.languages.forEach((language) => {
      const own = typeof text === 'string' ? path : path.concat(language);
      const id = 'field-' + this.key(path.concat(language));
      const long = field.kind === 'long' || field.kind === 'texts';
      const box = /** @type {HTMLInputElement} */ (make(long ? 'textarea' : 'input', { id: id, lang: language, autocomplete: 'off' }));
      if (long) box.setAttribute('rows', '2');
      box.value = inLanguage(text, language);
      const label = name || this.words(field.label);
      part.append(make('label', { for: id }, [this.languages.length > 1 ? label + ' (' + language + ')' : label]));
      part.append(box, this.place(own, box));
      box.addEventListener('input', () => {
        const now = valueAt(this.unit, path);
        if (box.value === '' && now === undefined) return;
        this.change(textEdit(path, now, language, box.value.replace(/\s*\n\s*/g, ' '), needed), false);
      });
    });
    part.append(this.place(path, null));
    return part;
  }

  /**
   * A list of texts.
   * @param {Path} path
   * @param {Field} field
   * @param {any} texts
   * @returns {HTMLElement}
   */
  texts(path, field, texts) {
    const all = Array.isArray(texts) ? texts : [];
    const part = make('fieldset', {}, [make('legend', {}, [this.words(field.label)]), this.place(path, null)]);
    all.forEach((/** @type {any} */ text, /** @type {number} */ at) => {
      const own = path.concat('#' + at);
      const name = this.words(field.items || field.label) + ' ' + (at + 1);
      part.append(this.text(own, field, text, true, name), this.order(own, all, at, name));
    });
    part.append(this.button('add-' + this.key(path), this.words(field.add || field.label), () => {
      this.change({ add: { to: path, value: emptyText(this.languages) } }, true);
    }));
    return part;
  }
}
