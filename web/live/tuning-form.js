/**
 * On the remote: the cue that a station's TV shows, what is asked about a class
 * that is over, and which unit the gym uses.
 *
 * Not here: what is said (tuning.js), who may (the server).
 */

import { made, part, text } from './remote-parts.js';
import { answersTo, askOf, cueButtons, cuesAt, inOf, mayOffer, offerSaid } from './tuning.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').KeepFor} KeepFor
 * @typedef {import('./wire').KeepOffer} KeepOffer
 * @typedef {import('./wire').Showing} Showing
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/** While nothing happens offers are asked for this often: another remote may have answered. */
const ASK_MS = 5000;

/** @type {Record<KeepFor, string>} */
const BUTTONS = { everybody: 'live-kept-everybody', class: 'live-kept-class', nobody: 'live-kept-nobody' };
/** @type {Record<KeepFor, string>} */
const DONE = { everybody: 'live-kept-now-everybody', class: 'live-kept-now-class', nobody: 'live-kept-now-nobody' };

export class TuningForm {
  /**
   * @param {Words} words
   * @param {string} lang
   * @param {boolean} leads whether whoever asks may say anything of this
   * @param {(url: string, init: RequestInit) => Promise<Response>} ask
   * @param {(body: unknown) => string} problem what a refusal says
   * @param {import('./showing.js').ShowingForm} showing
   */
  constructor(words, lang, leads, ask, problem, showing) {
    this.words = words;
    this.lang = lang;
    this.leads = leads;
    this.ask = ask;
    this.problem = problem;
    this.form = showing;
    /** @type {Showing | null} */
    this.showing = null;
    /** @type {ClassInfo | null} */
    this.info = null;
    this.askedMs = -Infinity;
    showing.onHeard = (heard) => { this.showing = heard; this.put(); };
  }

  /** @param {ClassInfo} info */
  heard(info) {
    const may = mayOffer(info);
    // A class has just ended, or nobody has asked yet.
    const now = this.info === null || !mayOffer(this.info);
    this.info = info;
    this.put();
    if (!this.leads) { return; }
    if (!may) {
      part('kept').hidden = true;
      text(part('kept-said'), '');
    } else if (now || Date.now() - this.askedMs > ASK_MS) {
      this.look();
    }
  }

  put() {
    if (!this.leads) { return; }
    document.querySelectorAll('#stations .station').forEach((item) => { this.putCues(/** @type {HTMLElement} */ (item)); });
    this.putUnits();
  }

  /** @param {HTMLElement} item a station's card */
  putCues(item) {
    const number = Number(item.getAttribute('data-number'));
    const place = /** @type {HTMLElement} */ (item.querySelector('.cues'));
    const at = cuesAt(this.showing, this.info, number);
    place.hidden = at === null;
    const all = at === null ? [] : cueButtons(at, this.lang, this.words);
    const said = JSON.stringify(all);
    if (place.getAttribute('data-said') === said) { return; }
    place.setAttribute('data-said', said);
    const list = /** @type {HTMLElement} */ (place.querySelector('.cue-list'));
    const old = list.children;
    all.forEach((one, i) => {
      const button = /** @type {HTMLElement} */ (old[i] || this.button(list, (b) => {
        this.pin(number, b.getAttribute('data-cue') || null, item);
      }));
      button.setAttribute('data-cue', one.cue || '');
      button.setAttribute('aria-pressed', String(one.chosen));
      text(button, one.label);
    });
    // Those that stay keep the focus.
    while (old.length > all.length) { list.removeChild(old[old.length - 1]); }
  }

  /**
   * @param {HTMLElement} list
   * @param {(button: HTMLElement) => void} press
   */
  button(list, press) {
    const button = made('button', '', '');
    button.setAttribute('type', 'button');
    button.addEventListener('click', () => { press(button); });
    list.appendChild(button);
    return button;
  }

  /** @param {number} station @param {string | null} cue @param {HTMLElement} item */
  pin(station, cue, item) {
    const place = /** @type {HTMLElement} */ (item.querySelector('.cue-said'));
    this.send('/api/class/cue', { station: station, cue: cue }, place, (body) => {
      text(place, this.words(cue === null ? 'live-cue-free' : 'live-cue-set'));
      this.form.heard(/** @type {Showing} */ (body));
    });
  }

  putUnits() {
    const units = this.showing === null ? [] : this.showing.units;
    const place = part('units');
    // With one there is nothing to choose; but one that is in use and cannot be shown is said.
    const used = this.showing === null ? null : this.showing.unit;
    const others = units.filter(function (one) { return one.name !== used; });
    place.hidden = others.length === 0;
    const waits = this.info === null || !mayOffer(this.info);
    part('units-wait').hidden = !waits;
    const said = JSON.stringify([units, used, waits]);
    if (place.getAttribute('data-said') === said) { return; }
    place.setAttribute('data-said', said);
    const list = part('unit-list');
    list.textContent = '';
    units.forEach((one) => {
      const button = this.button(list, () => { if (!waits) { this.use(one.name); } });
      text(button, inOf(one.title, this.lang));
      button.setAttribute('data-unit', one.name);
      button.setAttribute('aria-pressed', String(one.name === used));
      button.setAttribute('aria-disabled', String(waits && one.name !== used));
    });
  }

  /** @param {string} name */
  use(name) {
    const place = part('unit-said');
    this.send('/api/units/' + name + '/use', {}, place, (body) => {
      text(place, this.words('live-unit-used'));
      this.form.heard(/** @type {Showing} */ (body));
    });
  }

  look() {
    this.askedMs = Date.now();
    this.ask('/api/class/kept', {}).then((answer) => (answer.ok ? answer.json() : null)).then((body) => {
      if (body !== null) { this.putOffers(body.offers); }
    }).catch(function () { /* The remote says that the box is away. */ });
  }

  /** @param {KeepOffer[]} offers */
  putOffers(offers) {
    const place = part('kept');
    const none = offers.length === 0;
    // What was said to the last one stays to be read.
    place.hidden = (none && part('kept-said').textContent === '') || this.info === null || !mayOffer(this.info);
    part('kept-ask').hidden = none;
    const list = part('kept-list');
    const said = JSON.stringify(offers);
    if (list.getAttribute('data-said') === said) { return; }
    list.setAttribute('data-said', said);
    list.textContent = '';
    offers.forEach((offer) => { list.appendChild(this.offer(offer)); });
  }

  /** @param {KeepOffer} offer */
  offer(offer) {
    const item = document.createElement('li');
    const title = { class: offer.class, number: offer.station, title: inOf(offer.title, this.lang) };
    item.appendChild(made('h3', '', this.words('live-kept-at', title)));
    item.appendChild(made('p', '', offerSaid(offer, this.lang, this.words)));
    if (!offer.for_everybody) { item.appendChild(made('p', '', this.words('live-kept-not-everybody'))); }
    const keys = made('div', 'keys', '');
    answersTo(offer).forEach((keep) => {
      const button = this.button(keys, () => { this.answer(offer, keep); });
      text(button, this.words(BUTTONS[keep], { class: offer.class }));
      button.setAttribute('data-keep', keep);
    });
    item.appendChild(keys);
    return item;
  }

  /** @param {KeepOffer} offer @param {KeepFor} keep */
  answer(offer, keep) {
    const place = part('kept-said');
    this.send('/api/class/kept', askOf(offer, keep), place, (body) => {
      text(place, this.words(DONE[keep], { class: offer.class }));
      this.putOffers(body.offers);
      // The button that was pressed is gone, and the focus with it.
      place.focus();
    }, (status) => {
      // Somebody else saved the unit: nothing is overwritten, and what is planned by now is looked at first.
      if (status !== 409) { return false; }
      text(place, this.words('live-kept-clash'));
      this.look();
      return true;
    });
  }

  /**
   * @param {string} url
   * @param {object} asked
   * @param {HTMLElement} place where a refusal is said
   * @param {(body: any) => void} done
   * @param {(status: number) => boolean} [refused] whether it has said what there is to say
   */
  send(url, asked, place, done, refused) {
    this.ask(url, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(asked) })
      .then((answer) => answer.json().catch(function () { return null; }).then((body) => {
        if (answer.ok) {
          done(body);
        } else if (refused === undefined || !refused(answer.status)) {
          text(place, this.words('live-remote-refused', { detail: this.problem(body) || String(answer.status) }));
        }
      })).catch(() => { text(place, this.words('live-remote-not-set')); });
  }
}
