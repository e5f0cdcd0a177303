/**
 * On the remote: what the gym hears. Which page is the speaker, what it plays, a
 * test tone; and in plain words whether there is sound at all.
 *
 * Not here: what follows from a press (the box says).
 */

import { made, part, put, text } from './remote-parts.js';

/**
 * @typedef {import('./wire').SoundInfo} SoundInfo
 * @typedef {import('./wire').SoundPage} SoundPage
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/** @type {{[standing in import('./wire').SoundStanding]: string}} */
const SAID = {
  'nobody': 'live-hear-nobody', 'away': 'live-hear-away', 'waits': 'live-hear-waits',
  'quiet': 'live-hear-quiet', 'ready': 'live-hear-ready', 'plays': 'live-hear-plays',
};

/**
 * What a page is called; of several alike, the which it is.
 * @param {SoundPage} page
 * @param {SoundPage[]} pages
 * @param {Words} words
 */
export function nameOf(page, pages, words) {
  const alike = pages.filter(function (one) { return JSON.stringify(one.place) === JSON.stringify(page.place); });
  const name = page.place.at === 'hall' ? words('live-hear-hall') : words('live-hear-tv', { station: page.place.station });
  return alike.length < 2 ? name : name + ' (' + (alike.indexOf(page) + 1) + ')';
}

/**
 * Whether there is sound, in a sentence.
 * @param {SoundInfo} info
 * @param {Words} words
 */
export function standingSaid(info, words) {
  const speaker = info.pages.filter(function (page) { return page.speaks; })[0];
  return words(SAID[info.standing], { where: speaker === undefined ? '' : nameOf(speaker, info.pages, words) });
}

/**
 * What there is to say of the files; nothing where all is well.
 * @param {SoundInfo} info
 * @param {Words} words
 */
export function filesSaid(info, words) {
  if (!info.folder) {
    return words('live-hear-no-folder');
  }
  const none = info.tracks === 0 ? [words('live-hear-no-files')] : [];
  return none.concat(info.broken.length === 0 ? [] : [words('live-hear-broken', { files: info.broken.join(', ') })]).join(' ');
}

export class SoundForm {
  /**
   * @param {Words} words
   * @param {(url: string, init: RequestInit) => Promise<Response>} ask
   * @param {(body: unknown) => string} problem what a refusal says
   */
  constructor(words, ask, problem) {
    this.words = words;
    this.ask = ask;
    this.problem = problem;
    this.drawn = '';
    document.querySelectorAll('[data-sound-mode]').forEach((button) => {
      button.addEventListener('click', () => {
        if (button.getAttribute('aria-disabled') !== 'true') {
          this.send('PATCH', '/api/sound', { mode: button.getAttribute('data-sound-mode') });
        }
      });
    });
    part('sound-tone').addEventListener('click', () => { this.send('POST', '/api/sound/tone', {}); });
  }

  look() {
    this.ask('/api/sound', {}).then((answer) => (answer.ok ? answer.json() : null)).then((body) => {
      if (body !== null) { this.heard(/** @type {SoundInfo} */ (body)); }
    }).catch(function () { /* The remote says that the box is away. */ });
  }

  /** @param {SoundInfo} info */
  heard(info) {
    put('sound-stands', standingSaid(info, this.words));
    put('sound-files', filesSaid(info, this.words));
    document.querySelectorAll('[data-sound-mode]').forEach(function (button) {
      const mode = button.getAttribute('data-sound-mode');
      button.setAttribute('aria-pressed', String(mode === info.mode));
      button.setAttribute('aria-disabled', String(mode === 'files' && info.tracks === 0));
    });
    const cannot = info.standing !== 'ready' && info.standing !== 'plays';
    part('sound-tone').setAttribute('aria-disabled', String(cannot));
    this.pages(info);
  }

  /** @param {SoundInfo} info */
  pages(info) {
    const place = part('sound-pages');
    const key = JSON.stringify(info.pages.map(function (page) { return [page.id, page.place]; }));
    if (key !== this.drawn) {
      this.drawn = key;
      place.textContent = '';
      const none = made('span', 'of', this.words('live-hear-speaker'));
      none.setAttribute('aria-hidden', 'true');
      place.appendChild(none);
      this.button(place, 0, this.words('live-hear-none'));
      info.pages.forEach((page) => { this.button(place, page.id, nameOf(page, info.pages, this.words)); });
    }
    const speaker = info.pages.filter(function (page) { return page.speaks; })[0];
    const chosen = speaker !== undefined ? speaker.id : info.standing === 'nobody' ? 0 : -1;
    place.querySelectorAll('button').forEach(function (button) {
      button.setAttribute('aria-pressed', String(button.getAttribute('data-speaker') === String(chosen)));
    });
  }

  /** @param {HTMLElement} place @param {number} id @param {string} name */
  button(place, id, name) {
    const button = made('button', '', name);
    button.setAttribute('type', 'button');
    button.setAttribute('data-speaker', String(id));
    button.addEventListener('click', () => { this.send('PATCH', '/api/sound', { speaker: id }); });
    place.appendChild(button);
  }

  /** @param {string} method @param {string} url @param {object} body */
  send(method, url, body) {
    const place = part('sound-said');
    text(place, '');
    this.ask(url, { method: method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
      .then((answer) => answer.json().catch(function () { return null; }).then((said) => {
        if (!answer.ok) {
          text(place, this.words('live-remote-refused', { detail: this.problem(said) || String(answer.status) }));
          return;
        }
        this.heard(/** @type {SoundInfo} */ (said));
      })).catch(() => { text(place, this.words('live-remote-not-set')); });
  }
}
