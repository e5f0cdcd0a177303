/**
 * The board of the hall: for a TV that is no station's own.
 *
 * Not here: what it says (board.js).
 */

import { boardOf, headOf } from './hall-board.js';
import { cardFigure } from './card.js';
import { leftMs, minutes } from './class.js';
import { showDrawn, showFigure } from './figure.js';
import { listenToKeys } from './keys.js';
import { Link } from './link.js';
import { groupMark, stationMark } from './mark.js';
import { part, text } from './page-parts.js';
import { shareLeft } from './phase.js';
import { slice } from './sheet.js';
import { Speaker } from './speaker.js';
import { drawn, sign } from './signs.js';
import { wordsFrom } from './words.js';

/** As soon as a screen of a station says so. */
const SILENT_US = 1500000;
const LOOK_MS = 100;

class HallBoard {
  constructor() {
    this.words = wordsFrom(part('words').textContent || '{}');
    /** @type {import('./wire').Hall | null} */
    this.hall = null;
    this.drawn = '';
    this.speaker = new Speaker(part('sound'), () => this.words, (m) => { this.link.send(m); });
    this.openedMs = performance.now();
    const meta = document.querySelector('meta[name="afterturn-build"]');
    const scheme = location.protocol === 'https:' ? 'wss://' : 'ws://';
    this.link = new Link(scheme + location.host + '/api/hall/view', meta === null ? '' : meta.getAttribute('content') || '', {
      message: (m) => { this.message(m); },
      bytes: function () { /* No board gets pictures. */ },
      failed: (times) => {
        this.speaker.lost();
        if (times % 3 === 0) { letInStill(); }
      },
      opened: function () { /* Nothing is asked for. */ },
      standing: function () { return { endUs: null, glassUs: null, errorUs: null, dropped: 0 }; },
    });
    listenToKeys({
      pressed: function () { return false; },
      again: function () { /* No board has pictures. */ },
      clicked: (click) => { this.link.click(click); },
    });
    setInterval(() => { this.put(); }, LOOK_MS);
  }

  /** @param {import('./wire').FromServer} m */
  message(m) {
    if (m.type === 'hall') {
      this.hall = m;
      this.speaker.heard(m.time);
      this.put();
    } else if (m.type === 'sound') {
      this.speaker.told(m);
    } else if (m.type === 'removed') {
      location.reload();
    }
  }

  put() {
    const heard = this.link.heardAgoUs();
    const silent = (heard === null ? (performance.now() - this.openedMs) * 1000 : heard) > SILENT_US;
    const hall = this.hall;
    const board = boardOf(hall);
    const time = hall === null ? null : hall.time;
    const nowUs = this.link.clock.known ? this.link.serverUs(performance.now()) : null;
    this.time(time, nowUs, board);
    const key = JSON.stringify([board, silent, hall && [hall.view, hall.look]]);
    if (key === this.drawn) {
      return;
    }
    this.drawn = key;
    const shown = silent ? 'link' : board.hold !== null && board.hold !== 'pause' ? board.hold : board.mode;
    part('hall').setAttribute('data-shows', hall === null ? 'opening' : shown);
    part('hall').setAttribute('data-view', hall === null ? 'text' : hall.view);
    document.body.className = hall !== null && hall.look === 'bright' ? 'slate paper' : 'slate';
    const id = silent ? 'live-card-link' : hall === null ? 'live-card-opening' : headOf(board);
    text('phase', id === '' ? '' : this.words(id));
    const resting = board.mode === 'closing' ? { text: '', figure: 'seated-reach', picture: null } : null;
    showDrawn(part('everybody'), silent ? null : board.hold !== null ? cardFigure(board.hold, null) : resting, '');
    sign(part('sign'), silent || (board.hold !== null && board.hold !== 'pause') ? null : board.hold === 'pause' ? 'pause' : board.mode === 'last-turn' ? 'last-turn' : null);
    this.today(silent || (board.hold !== null && board.hold !== 'pause') ? null : board.today);
    this.ways(silent || (board.hold !== null && board.hold !== 'pause') ? [] : board.ways, board.mode);
  }

  /** @param {[string, string] | null} shown */
  today(shown) {
    part('today').hidden = shown === null;
    showFigure(part('today-figure'), shown === null ? null : shown[0]);
    text('today-words', shown === null ? '' : this.words(shown[1]));
  }

  /**
   * @param {import('./wire').ClassTime | null} time
   * @param {number | null} nowUs
   * @param {import('./hall-board.js').Board} board
   */
  time(time, nowUs, board) {
    const left = time === null ? 0 : time.hold === null ? leftMs(time, nowUs) : time.left_ms;
    const share = shareLeft(time, left);
    part('hall-time').hidden = share === null || (board.hold !== null && board.hold !== 'pause');
    const path = share === null ? '' : slice(share);
    if (part('disc-left').getAttribute('d') !== path) {
      part('disc-left').setAttribute('d', path);
    }
    // While work lasts it helps to know; a number that runs would hurry the rest.
    text('left', board.mode === 'work' || board.mode === 'begin' ? minutes(Math.ceil(left / 10000) * 10000) : '');
  }

  /** @param {import('./hall-board.js').Way[]} ways @param {string} mode */
  ways(ways, mode) {
    const list = part('ways');
    list.textContent = '';
    list.setAttribute('data-mode', mode);
    list.setAttribute('data-count', ways.length > 8 ? 'most' : ways.length > 6 ? 'many' : ways.length > 4 ? 'some' : 'few');
    for (const way of ways) {
      const item = document.createElement('li');
      const parts = way.groups.map(groupMark);
      if (way.from !== null) {
        parts.push(stationMark(way.from));
      }
      parts.push(drawn('arrow'));
      if (way.to === null) {
        const rest = document.createElement('div');
        rest.className = 'rest';
        showFigure(rest, 'sit');
        parts.push(rest);
      } else {
        parts.push(stationMark(way.to));
      }
      const said = document.createElement('span');
      said.className = 'unseen';
      said.textContent = this.inWords(way, mode);
      parts.forEach(function (one) { item.appendChild(one); });
      item.appendChild(said);
      list.appendChild(item);
    }
  }

  /** @param {import('./hall-board.js').Way} way @param {string} mode */
  inWords(way, mode) {
    const groups = way.groups.map(function (g) { return g.number; }).join(', ');
    if (way.to === null) {
      return this.words('live-row-rest', { groups: groups });
    }
    return this.words(mode === 'walk' ? 'live-row-walk' : 'live-row-at', { groups: groups, station: way.to.number });
  }
}

/** A socket does not say why it does not open; a page that is not let in any more begins anew. */
function letInStill() {
  fetch(location.pathname, { method: 'HEAD', cache: 'no-store' }).then(function (answer) {
    if (answer.status === 401 || answer.status === 403) { location.reload(); }
  }).catch(function () { /* No answer: the link goes on trying. */ });
}

Object.defineProperty(window, 'afterturn', { value: new HallBoard() });
