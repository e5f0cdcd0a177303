/**
 * On the remote: the last attempt once more, a picture that is held, a step on
 * or back; and how long an attempt lasts. Says where it was pressed what came of
 * it.
 *
 * Not here: whether it is answered (the server says), the screens.
 */

/**
 * @typedef {import('./wire').AgainAsk} Ask
 * @typedef {import('./wire').StationInfo} Station
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/** What is said when it is done. @type {Record<Ask, string>} */
const DONE = {
  again: 'live-asked-again',
  hold: 'live-asked-hold',
  step_back: 'live-asked-step',
  step_on: 'live-asked-step',
  go_on: 'live-asked-go-on',
};

/**
 * What a press asks for: one button holds and lets go.
 * @param {string} name of the button
 * @param {import('./wire').Again | null} again
 * @returns {Ask}
 */
export function askOf(name, again) {
  const held = again !== null && again.kind === 'held';
  return name === 'hold' && held ? 'go_on' : /** @type {Ask} */ (name);
}

/**
 * The sentence for what came of it.
 * @param {Ask} ask
 * @param {import('./wire').AgainAnswer} answer
 */
export function saidOf(ask, answer) {
  if (answer === 'done') {
    return DONE[ask];
  }
  const step = ask === 'step_back' || ask === 'step_on';
  return step ? 'live-asked-no-step' : answer === 'busy' ? 'live-asked-busy' : 'live-asked-nothing';
}

export class AgainForm {
  /**
   * @param {HTMLElement} item the station's row
   * @param {number} number
   * @param {Words} words
   * @param {(url: string, init: RequestInit) => Promise<Response>} ask
   * @param {(body: unknown) => string} problem what a refusal says
   */
  constructor(item, number, words, ask, problem) {
    this.item = item;
    this.number = number;
    this.words = words;
    this.ask = ask;
    this.problem = problem;
    /** @type {Station | null} */
    this.station = null;
    item.querySelectorAll('[data-ask]').forEach((button) => {
      button.addEventListener('click', () => { this.press(button.getAttribute('data-ask') || ''); });
    });
    this.part('.attempt-less').addEventListener('click', () => { this.attempt(-1); });
    this.part('.attempt-more').addEventListener('click', () => { this.attempt(1); });
  }

  /** @param {string} selector @returns {HTMLElement} */
  part(selector) {
    const found = this.item.querySelector(selector);
    if (found === null) {
      throw new Error('a row without ' + selector);
    }
    return /** @type {HTMLElement} */ (found);
  }

  /** @param {Station} station */
  heard(station) {
    this.station = station;
    const held = station.again !== null && station.again.kind === 'held';
    this.text(this.part('[data-ask="hold"]'), this.words(held ? 'live-ask-go-on' : 'live-ask-hold'));
    // Not `disabled`: a button that vanishes under the thumb loses the focus.
    for (const name of ['step_back', 'step_on']) {
      this.part('[data-ask="' + name + '"]').setAttribute('aria-disabled', String(!held));
    }
    this.text(this.part('.attempt-is'), this.words('live-attempt', { seconds: station.attempt_s }));
    this.part('.attempt-less').setAttribute('aria-disabled', String(station.attempt_s <= station.attempt_least_s));
    this.part('.attempt-more').setAttribute('aria-disabled', String(station.attempt_s >= station.attempt_most_s));
  }

  /** @param {string} name */
  press(name) {
    const place = this.part('.again-said');
    const ask = askOf(name, this.station === null ? null : this.station.again);
    this.send('/again', 'POST', { ask: ask }, place, (body) => {
      this.text(place, this.words(saidOf(ask, body.answer)));
      this.heard(body.station);
    });
  }

  /** @param {1 | -1} way */
  attempt(way) {
    const s = this.station;
    const next = s === null ? 0 : s.attempt_s + way;
    if (s === null || next < s.attempt_least_s || next > s.attempt_most_s) {
      return;
    }
    this.send('', 'PATCH', { attempt_s: next }, this.part('.attempt-said'), (body) => {
      this.text(this.part('.attempt-said'), '');
      this.heard(body);
    });
  }

  /**
   * @param {string} path below the station's
   * @param {string} method
   * @param {unknown} asked
   * @param {HTMLElement} place where a refusal is said
   * @param {(body: any) => void} done
   */
  send(path, method, asked, place, done) {
    this.ask('/api/stations/' + this.number + path, {
      method: method,
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(asked),
    }).then((answer) => answer.json().catch(function () { return null; }).then((body) => {
      if (answer.ok) {
        done(body);
      } else {
        this.text(place, this.words('live-remote-refused', { detail: this.problem(body) || String(answer.status) }));
      }
    })).catch(() => { this.text(place, this.words('live-remote-not-set')); });
  }

  /** @param {HTMLElement} place @param {string} what */
  text(place, what) {
    if (place.textContent !== what) {
      place.textContent = what;
    }
  }
}
