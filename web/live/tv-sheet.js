/**
 * Draws the sheet beside the late picture, and finds room for it.
 *
 * Not here: what is on it (sheet.js), what gives way (fit.js), the picture.
 */

import { capitalOf } from './capital.js';
import { drawBoard } from './board.js';
import { showDrawn } from './figure.js';
import { arrange } from './fit.js';
import { drawMark } from './mark.js';
import { items, part, text } from './page-parts.js';
import { leftInWords, leftOf, mostFirst, partsOf, slice } from './sheet.js';

/** Without a sheet: what a usual screen needs at six metres, and what the server's default says. */
const USUAL_LEAST = 0.0734;
/** Where nothing but picture and figure has to have room. */
const PICTURE_SHARE = 0.76;
const BARE_SHARE = 0.8;
/** The choices of a board stand below the picture and take a third of the height. */
const BOARD_SHARE = 0.66;
/** Below this shape a window is a telephone's, and everything stands in one column. */
const NARROW = 1.25;
/** The regions whose words have to have room. */
const REGIONS = ['side', 'foot'];

/**
 * @typedef {import('./wire').Sheet} Sheet
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

export class TvSheet {
  /** @param {Words} words of the language the page was opened in */
  constructor(words) {
    this.words = words;
    /** @type {Sheet | null} */
    this.sheet = null;
    this.parts = partsOf(null);
    this.page = part('tv');
    /** Where the teacher's own pictures are, as the beginning of their address. */
    this.pictures = '/api/stations/' + this.page.getAttribute('data-station') + '/pictures/';
    this.late = '';
    this.inClass = '';
    /** A sign stands where the disc would. */
    this.sign = false;
    /** @type {string | null} nothing drawn yet */
    this.drawnLeft = null;
    this.fitted = '';
    window.addEventListener('resize', () => { this.fit(); });
    if (document.fonts !== undefined) {
      document.fonts.ready.then(() => { this.fit(); });
    }
    this.put();
  }

  /** @param {Sheet} sheet @param {Words} words in its language */
  heard(sheet, words) {
    this.sheet = sheet;
    this.words = words;
    this.parts = partsOf(sheet);
    this.put();
  }

  /** What is said of the picture; it takes room. @param {string} late */
  said(late) {
    text('late', late);
    // A second more or less takes no more room.
    if (late.length !== this.late.length) {
      this.late = late;
      this.fit();
    }
  }

  /** Says that what is shown is not the late picture. @param {'' | 'again' | 'held'} what */
  again(what) {
    this.page.setAttribute('data-again', what);
    part('again').hidden = what === '';
    text('again-words', what === '' ? '' : this.words('live-again-' + what));
  }

  /** What is said of the class; the disc says the same of a turn. @param {string} line */
  saidOfClass(line) {
    if (line !== this.inClass) {
      this.inClass = line;
      text('class', line);
      this.fit();
    }
  }

  /** A sign stands in the disc's place, or not any more. @param {boolean} sign */
  signed(sign) {
    this.sign = sign;
  }

  put() {
    const p = this.parts;
    this.page.setAttribute('data-view', p.view);
    document.body.className = p.look === 'bright' ? 'slate paper' : 'slate';
    text('task', p.task);
    text('cue', p.cue);
    this.page.setAttribute('data-board', String(p.board));
    showDrawn(part('figure'), p.board ? null : p.drawn, this.pictures);
    part('say').hidden = p.board;
    part('board').hidden = !p.board;
    drawBoard(part('board'), p.board ? p.choices : [], this.pictures);
    items(part('reminders'), 'li', p.reminders);
    items(part('choices'), 'li', p.choices.map(function (one) { return one.text; }));
    text('choose', this.words('live-choose'));
    if (this.sheet !== null) {
      drawMark(part('plate'), this.sheet.mark);
    }
    part('time').hidden = this.sheet === null || this.sheet.turn === null;
    this.fit();
  }

  classShows() {
    return this.inClass !== '' && part('time').hidden === true;
  }

  /** Finds room, if anything that takes room has changed. */
  fit() {
    const key = JSON.stringify([this.parts, this.late.length, this.inClass.length, part('time').hidden, this.sheet && this.sheet.letters, innerWidth, innerHeight]);
    if (key === this.fitted) {
      return;
    }
    this.fitted = key;
    const style = getComputedStyle(document.body);
    const least = this.sheet === null ? USUAL_LEAST : this.sheet.letters.least;
    const ease = this.sheet === null ? 1 : this.sheet.letters.preferred / least;
    const leastPx = least * window.innerHeight / capitalOf(style.fontFamily, style.fontWeight);
    this.page.setAttribute('data-least-px', String(least * window.innerHeight));
    this.page.setAttribute('data-class', this.classShows() ? 'shown' : 'none');
    // What is said to a whole group, where there is room for it.
    this.page.style.setProperty('--big', Math.max(Math.ceil(leastPx * 10) / 10, window.innerHeight * 0.085) + 'px');
    this.page.style.setProperty('--least', Math.ceil(leastPx * 10) / 10 + 'px');
    const narrow = window.innerWidth / window.innerHeight <= NARROW;
    if (this.parts.view !== 'text' || narrow) {
      const share = this.parts.view === 'bare' ? BARE_SHARE : this.parts.board ? BOARD_SHARE : PICTURE_SHARE;
      this.apply({ share: share, letter: 1, cue: 1, without: [] }, leastPx);
      this.page.setAttribute('data-without', '');
      return;
    }
    const found = arrange(mostFirst(this.parts, this.classShows()), ease, (a) => {
      this.apply(a, leastPx);
      return REGIONS.concat(this.parts.board ? ['board'] : []).every(hasRoom);
    });
    this.apply(found, leastPx);
    this.page.setAttribute('data-without', found.without.join(' '));
    if (found.letter < 1) {
      console.warn('the cue is too long for this screen: its letters are smaller than they should be');
    }
  }

  /** @param {import('./fit.js').Arrangement} a @param {number} leastPx */
  apply(a, leastPx) {
    const set = (/** @type {string} */ name, /** @type {string} */ value) => { this.page.style.setProperty(name, value); };
    // As much of the page as the share says, and never another shape than 16:9.
    const width = Math.min(window.innerWidth, window.innerHeight * 16 / 9) * a.share;
    set('--picture-width', width + 'px');
    set('--picture-height', width * 9 / 16 + 'px');
    set('--letter', Math.ceil(a.letter * leastPx * 10) / 10 + 'px');
    set('--cue', Math.ceil(a.cue * leastPx * 10) / 10 + 'px');
    const gone = function (/** @type {string} */ name) { return a.without.indexOf(name) >= 0; };
    part('late').hidden = gone('late');
    part('left').hidden = gone('left');
    part('class').hidden = !this.classShows() || gone('class');
    part('task').hidden = this.parts.task === '' || gone('task');
    this.page.setAttribute('data-titles', String(!gone('titles')));
    part('choice').hidden = this.parts.choices.length === 0 || gone('choices');
    hideGone(part('choices'), 'choice-', gone);
    hideGone(part('reminders'), 'reminder-', gone);
  }

  /** The time that is left. @param {number | null} nowUs */
  tick(nowUs) {
    const turn = this.sheet === null ? null : this.sheet.turn;
    const left = this.sign ? null : leftOf(turn, nowUs);
    if (part('time').hidden !== (left === null)) {
      part('time').hidden = left === null;
      this.fit();
    }
    this.page.setAttribute('data-time', left === null && !this.sign ? 'none' : 'runs');
    if (turn === null || left === null || nowUs === null) {
      return;
    }
    const path = slice(left);
    if (path !== this.drawnLeft) {
      this.drawnLeft = path;
      part('disc-left').setAttribute('d', path);
      const is = leftInWords(turn, nowUs);
      text('left', 'minutes' in is
        ? this.words('live-left-minutes', { minutes: is.minutes })
        : this.words('live-left-seconds', { seconds: is.seconds }));
    }
  }
}

/** @param {HTMLElement} list @param {string} kind @param {(name: string) => boolean} gone */
function hideGone(list, kind, gone) {
  for (let i = 0; i < list.children.length; i += 1) {
    /** @type {HTMLElement} */ (list.children[i]).hidden = gone(kind + (i + 1));
  }
}

/** @param {string} id */
function hasRoom(id) {
  return roomIn(part(id)) && Array.prototype.every.call(id === 'board' ? part(id).children : [], roomIn);
}

/** @param {Element} place */
function roomIn(place) {
  return place.scrollHeight <= place.clientHeight + 1 && place.scrollWidth <= place.clientWidth + 1;
}
