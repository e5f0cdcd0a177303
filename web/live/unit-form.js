/**
 * The form of a unit: a field for everything that can be said, rows that can be
 * put in order, and each mistake at its field.
 *
 * Not here: what the fields are (unit-fields.js), what a change does
 * (unit-draft.js), saving.
 */

import { nameInRow, nearestField, valueAt } from './unit-draft.js';
import {
  BAND, DETAILS, KIT, LANGUAGES, OF_STATION, PERMISSION, ROWS, emptyText, freshOne, freshStation, inLanguage,
} from './unit-fields.js';
import { make } from './page-parts.js';
import { Inputs } from './unit-inputs.js';

/** @typedef {import('./unit-draft.js').Path} Path */
/** @typedef {import('./unit-fields.js').Row} Row */
/** @typedef {{english: string, id: string, values: {[name: string]: string}}} Sentence */
/** @typedef {{at: Path, message: Sentence, fix: Sentence, warning: boolean, line: number}} Note */

export class Form extends Inputs {
  /**
   * Draws the form; what had the focus has it again.
   * @param {any} unit
   * @param {string} [focus] the id of what gets it instead
   */
  draw(unit, focus) {
    const active = document.activeElement;
    const id = focus || (active && this.root.contains(active) ? active.id : '');
    this.unit = unit;
    this.languages = Array.isArray(unit.languages) && unit.languages.length ? unit.languages : ['en'];
    this.places = [];
    while (this.root.lastChild) this.root.removeChild(this.root.lastChild);
    this.root.append(this.head());
    const stations = this.stations();
    stations.forEach((/** @type {any} */ station, /** @type {number} */ at) => {
      this.root.append(this.station(station, at));
    });
    this.root.append(this.button('add-station', this.words('live-unit-add-station'), () => {
      const value = freshStation(stations, this.languages);
      this.open[this.key(['station', '#' + stations.length])] = true;
      this.change({ add: { to: ['station'], value: value } }, true);
    }));
    const again = id && document.getElementById(id);
    if (again) again.focus();
  }

  /**
   * What is wrong and what to do, in the page's language where it has the words.
   * @param {Note} note
   */
  sentences(note) {
    return [note.message, note.fix].map((one) => (one.id ? this.words('live-check-' + one.id, one.values) : one.english)).join(' → ');
  }

  /**
   * Says each mistake at its field; what has none is returned.
   * @param {Note[]} notes
   * @returns {Note[]}
   */
  say(notes) {
    this.places.forEach(function (place) {
      place.said.hidden = true;
      place.said.textContent = '';
      if (place.input) place.input.removeAttribute('aria-invalid');
    });
    const paths = this.places.map(function (place) { return place.path; });
    return notes.filter((note) => {
      const at = nearestField(note.at, paths);
      if (at < 0) return true;
      const place = this.places[at];
      place.said.append(make('span', { class: note.warning ? 'warning' : 'mistake' }, [this.sentences(note)]));
      place.said.hidden = false;
      if (place.input && !note.warning) place.input.setAttribute('aria-invalid', 'true');
      for (let up = place.said.parentElement; up && up !== this.root; up = up.parentElement) {
        if (up instanceof HTMLDetailsElement && !note.warning) up.open = true;
      }
      return false;
    });
  }

  /** Puts the focus on the first field with a mistake. */
  toFirstMistake() {
    const first = this.places.find(function (place) {
      return place.input !== null && place.input.getAttribute('aria-invalid') === 'true';
    });
    if (first && first.input) first.input.focus();
  }

  head() {
    const part = make('section', { class: 'head' }, [make('h2', {}, [this.words('live-unit-whole')])]);
    part.append(this.field([], { key: 'title', kind: 'text', label: 'live-unit-title' }, this.unit));
    part.append(this.field([], { key: 'grades', kind: 'grades', label: 'live-unit-grades' }, this.unit));
    part.append(this.spoken());
    part.append(make('p', { class: 'what' }, [this.words('live-unit-permissions-what')]));
    part.append(this.row([], PERMISSION, this.unit));
    return part;
  }

  /** What the texts are in, and what they could be in. */
  spoken() {
    const part = make('fieldset', {}, [
      make('legend', {}, [this.words('live-unit-languages')]), this.place(['languages'], null),
      make('p', { class: 'what' }, [this.words('live-unit-languages-what')]),
    ]);
    LANGUAGES.forEach(([tag, label]) => {
      const name = { language: this.words(label) };
      if (this.languages.indexOf(tag) < 0) {
        part.append(this.button('add-language-' + tag, this.words('live-unit-add-language', name), () => {
          this.change({ add_language: { language: tag } }, true);
        }));
      } else if (this.languages.length > 1) {
        part.append(this.button('remove-language-' + tag, this.words('live-unit-remove-language', name), () => {
          this.change({ remove_language: { language: tag } }, true);
        }));
      }
    });
    return part;
  }

  /**
   * @param {any} station
   * @param {number} at
   */
  station(station, at) {
    const path = ['station', nameInRow(station, at)];
    const title = inLanguage(station.title, this.lang) || inLanguage(station.title, this.languages[0]);
    const name = this.words('live-unit-station', { number: String(station.number), title: title });
    const part = this.fold(path, make('h2', {}, [name]));
    part.append(this.place(path, null), this.order(path, this.stations(), at, name));
    OF_STATION.concat(DETAILS).forEach((field) => {
      part.append(this.field(path, field, station));
    });
    ROWS.forEach((row) => { part.append(this.row(path, row, station)); });
    part.append(this.row(path, BAND, station));
    return part;
  }

  /**
   * A part that can be closed, and stays as it was.
   * @param {Path} path
   * @param {Node} head
   */
  fold(path, head) {
    const key = this.key(path);
    const part = make('details', { id: 'part-' + key }, [make('summary', {}, [head])]);
    if (part instanceof HTMLDetailsElement) {
      part.open = Boolean(this.open[key]);
      part.addEventListener('toggle', () => { this.open[key] = part.open; });
    }
    return part;
  }

  /**
   * @param {Path} above
   * @param {Row} row
   * @param {any} holder
   */
  row(above, row, holder) {
    const path = above.concat(row.key);
    const all = Array.isArray(holder[row.key]) ? holder[row.key] : [];
    const part = make('fieldset', {}, [make('legend', {}, [this.words(row.label)])]);
    all.forEach((/** @type {any} */ one, /** @type {number} */ at) => {
      const own = path.concat(nameInRow(one, at));
      const name = this.words(row.one) + ' ' + (at + 1);
      const inner = make('div', { class: 'one', role: 'group', 'aria-label': name }, [make('p', { class: 'name' }, [name])]);
      inner.append(this.place(own, null));
      row.fields.forEach((field) => { inner.append(this.field(own, field, one)); });
      if (row === BAND) this.band(inner, own, one, valueAt(this.unit, above));
      inner.append(this.order(own, all, at, name));
      part.append(inner);
    });
    part.append(this.button('add-' + this.key(path), this.words(row.add), () => {
      this.change({ add: { to: path, value: freshOne(row.fresh, this.languages) } }, true);
    }));
    return part;
  }

  /**
   * What differs in a band, and a choice of what else may.
   * @param {HTMLElement} part
   * @param {Path} path
   * @param {any} band
   * @param {any} station
   */
  band(part, path, band, station) {
    const left = DETAILS.filter(function (field) { return !(field.key in band); });
    DETAILS.forEach((field) => {
      if (!(field.key in band)) return;
      part.append(this.field(path, field, band), this.button('same-' + this.key(path) + '.' + field.key,
        this.words('live-unit-same'), () => {
          this.change({ set: { at: path.concat(field.key), to: null } }, true);
        }, this.words(field.label)));
    });
    if (band.kit) part.append(this.row(path, KIT, band));
    const keys = left.map(function (field) { return field.key; }).concat(band.kit ? [] : ['kit']);
    const labels = left.map((field) => this.words(field.label)).concat(band.kit ? [] : [this.words('live-unit-kit')]);
    const id = 'differs-' + this.key(path);
    const select = make('select', { id: id });
    keys.forEach(function (key, i) { select.append(make('option', { value: key }, [labels[i]])); });
    part.append(make('label', { for: id }, [this.words('live-unit-differs')]), select);
    part.append(this.button('add-' + id, this.words('live-unit-differ'), () => {
      const key = select instanceof HTMLSelectElement ? select.value : '';
      this.change({ set: { at: path.concat(key), to: this.asInStation(key, station) } }, true);
    }));
  }

  /**
   * What a band begins from: what the station has.
   * @param {string} key
   * @param {any} station
   */
  asInStation(key, station) {
    if (station[key] !== undefined) return station[key];
    const field = DETAILS.find(function (one) { return one.key === key; });
    const kind = field ? field.kind : 'texts';
    if (kind === 'flag') return false;
    if (kind === 'number') return key === 'lanes' ? 1 : 0;
    if (kind === 'seconds') return 0;
    if (kind === 'texts') return [];
    return emptyText(this.languages);
  }
}
