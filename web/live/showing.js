/**
 * On the remote: for whom the screens are. Grade, view and look for all of
 * them, the language of each station's. Says where it was pressed what a press
 * did, and which cue is too long for its screen.
 *
 * Not here: what follows from it (the server says).
 */

/**
 * @typedef {import('./wire').Showing} Showing
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/**
 * What a press on a button asks for.
 * @param {string} key `grade`, `choice`, `look` or `language`
 * @param {string} value as the page has it; empty for none
 * @param {number} station for a language
 */
export function patchOf(key, value, station) {
  if (key === 'grade') {
    return { grade: value === '' ? null : Number(value) };
  }
  if (key === 'language') {
    return { language: { station: station, language: value === '' ? null : value } };
  }
  return key === 'choice' ? { choice: value } : { look: value };
}

/**
 * Whether a button shows how things stand.
 * @param {string} key
 * @param {string} value
 * @param {number} station
 * @param {Showing} s
 */
export function isChosen(key, value, station, s) {
  if (key === 'grade') {
    return value === (s.grade === null ? '' : String(s.grade));
  }
  if (key === 'language') {
    const given = s.languages.filter(function (l) { return l.station === station; })[0];
    return value === (given === undefined || given.language === null ? '' : given.language);
  }
  return value === (key === 'choice' ? s.choice : s.look);
}

export class ShowingForm {
  /**
   * @param {HTMLElement} page
   * @param {Words} words
   * @param {(url: string, init: RequestInit) => Promise<Response>} ask
   * @param {(body: unknown) => string} problem what a refusal says
   */
  constructor(page, words, ask, problem) {
    this.page = page;
    this.words = words;
    this.ask = ask;
    this.problem = problem;
    /** @type {(s: Showing) => void} */
    this.onHeard = function () { /* Nobody else listens yet. */ };
    /** @type {HTMLElement[]} */
    this.buttons = [];
    page.querySelectorAll('[data-show]').forEach((button) => {
      this.buttons.push(/** @type {HTMLElement} */ (button));
      button.addEventListener('click', () => { this.press(/** @type {HTMLElement} */ (button)); });
    });
  }

  look() {
    this.ask('/api/showing', {}).then((answer) => (answer.ok ? answer.json() : null)).then((body) => {
      if (body !== null) { this.heard(/** @type {Showing} */ (body)); }
    }).catch(function () { /* The remote says that the box is away. */ });
  }

  /** @param {HTMLElement} button */
  read(button) {
    const row = button.closest('[data-number]');
    return {
      key: button.getAttribute('data-show') || '',
      value: button.getAttribute('data-value') || '',
      station: row === null ? 0 : Number(row.getAttribute('data-number')),
    };
  }

  /** @param {Showing} s */
  heard(s) {
    for (const button of this.buttons) {
      const is = this.read(button);
      button.setAttribute('aria-pressed', String(isChosen(is.key, is.value, is.station, s)));
    }
    this.page.querySelectorAll('.cue-long').forEach(function (place) {
      const row = place.closest('[data-number]');
      const number = row === null ? 0 : Number(row.getAttribute('data-number'));
      /** @type {HTMLElement} */ (place).hidden = s.too_long.indexOf(number) < 0;
    });
    this.onHeard(s);
  }

  /** @param {HTMLElement} button */
  press(button) {
    const is = this.read(button);
    const group = /** @type {HTMLElement} */ (button.closest('.showing'));
    const place = /** @type {HTMLElement} */ (group.querySelector('.showing-said'));
    this.ask('/api/showing', {
      method: 'PATCH',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(patchOf(is.key, is.value, is.station)),
    }).then((answer) => answer.json().catch(function () { return null; }).then((body) => {
      if (!answer.ok) {
        place.textContent = this.words('live-remote-refused', { detail: this.problem(body) || String(answer.status) });
        return;
      }
      place.textContent = this.words('live-showing-set');
      this.heard(/** @type {Showing} */ (body));
    })).catch(() => { place.textContent = this.words('live-remote-not-set'); });
  }
}
