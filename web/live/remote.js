/**
 * The remote: the class, and each station's delay, what its camera does, how
 * many screens show it. Asks the box once a second and shows its answer, nothing
 * else; says plainly when there is none.
 *
 * Not here: reading numbers and keeping presses apart from answers (delay.js),
 * the class (lesson.js), its start (start-form.js), presses on their way
 * (presses.js).
 */

import { AgainForm } from './again-form.js';
import { problemText, readSeconds, stepped, Wanted } from './delay.js';
import { failedSaid } from './failed.js';
import { Lesson } from './lesson.js';
import { NowPicture } from './now.js';
import { Orders } from './orders.js';
import { Presses } from './presses.js';
import { ask, made, part, put } from './remote-parts.js';
import { Setup, sightSaid } from './setup.js';
import { ShowingForm } from './showing.js';
import { ShownForm } from './shown.js';
import { SoundForm } from './sound-form.js';
import { Card } from './station-card.js';
import { StartForm } from './start-form.js';
import { delaySet } from './tuning.js';
import { TuningForm } from './tuning-form.js';
import { Today } from './today.js';
import { seconds, wordsFrom } from './words.js';

const ASK_MS = 1000;
/** A second that is shown is not late by more. */
const TICK_MS = 200;
/** One missed answer is a hiccup; two are said. */
const MISSED_TO_SAY = 2;
/** A screen that has taken nothing for this long is said; a hiccup is not. */
const STUCK_MS = 2000;

/** @typedef {import('./wire').StationInfo} Station */

const words = wordsFrom((document.getElementById('words') || document.body).textContent || '{}');
const lang = document.documentElement.lang;

/**
 * Sends a press; fails where no answer comes.
 * @param {string} url
 * @param {object} body
 * @returns {Promise<import('./presses.js').Reply>}
 */
function send(url, body) {
  const init = { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
  return ask(url, init).then(function (answer) {
    return answer.json().catch(function () { return null; }).then(function (said) {
      return { ok: answer.ok, status: answer.status, body: said };
    });
  });
}

/** On a phone that slept, one of the two clocks may have slept with it. */
function nowMs() {
  return Date.now();
}

const presses = new Presses(send, problemText, nowMs, undone);
const lesson = new Lesson(words, lang, presses, nowMs);
const leads = part('remote').getAttribute('data-leads') === 'true';

/** What was pressed and is not done stands at the top until somebody decides. */
function undone() {
  const place = part('undone');
  const rows = presses.said();
  const said = JSON.stringify(rows.map(function (row) { return [row.key, row.state]; }));
  if (place.getAttribute('data-said') === said) {
    return;
  }
  place.setAttribute('data-said', said);
  place.textContent = '';
  rows.forEach(function (row) {
    const line = document.createElement('div');
    line.className = 'undone-row';
    line.appendChild(made('p', '', words('live-undone-' + row.state, { press: row.label, detail: row.detail })));
    if (row.state !== 'sending') {
      const again = made('button', 'again', words('live-undone-again'));
      again.addEventListener('click', function () { presses.again(row.key); });
      const letBe = made('button', 'let-be', words('live-undone-let-be'));
      letBe.addEventListener('click', function () { presses.letBe(row.key); });
      line.appendChild(again);
      line.appendChild(letBe);
    }
    place.appendChild(line);
  });
}

class Row {
  /** @param {HTMLElement} item */
  constructor(item) {
    this.item = item;
    this.number = Number(item.getAttribute('data-number'));
    this.wanted = new Wanted();
    this.orders = new Orders(item, this.number, words, presses);
    this.again = new AgainForm(item, this.number, words, ask, problemText);
    this.card = new Card(item, this.number, leads, words, (press, label) => { lesson.press(press, label); },
      (change, label) => { lesson.change(change, label); });
    this.now = new NowPicture(item, this.number, ask);
    this.setup = new Setup(item, this.number, words, ask, problemText);
    /** @type {Station | null} */
    this.station = null;
    this.typing = false;
    this.takenMs = -1;
    this.field = /** @type {HTMLInputElement} */ (this.part('.seconds'));
    this.less = this.part('.less');
    this.more = this.part('.more');
    this.less.addEventListener('click', () => { this.step(-1); });
    this.more.addEventListener('click', () => { this.step(1); });
    this.field.addEventListener('input', () => { this.typing = true; });
    this.field.addEventListener('keydown', (event) => {
      if (event.key === 'ArrowUp') { event.preventDefault(); this.step(1); }
      if (event.key === 'ArrowDown') { event.preventDefault(); this.step(-1); }
      if (event.key === 'Escape') { this.typing = false; this.say(''); this.put(); }
    });
    this.field.addEventListener('blur', () => { this.typed(); });
    this.part('.delay').addEventListener('submit', (event) => {
      event.preventDefault();
      this.typed();
    });
  }

  /** @param {string} selector @returns {HTMLElement} */
  part(selector) {
    const found = this.item.querySelector(selector);
    if (found === null) {
      throw new Error('a row without ' + selector);
    }
    return /** @type {HTMLElement} */ (found);
  }

  /**
   * @param {Station} station
   * @param {number} askedMs when the question was asked
   */
  heard(station, askedMs) {
    this.station = station;
    this.orders.heard(station);
    this.again.heard(station);
    this.setup.heard(station);
    // An answer from before the last change would show the old value again.
    if (askedMs > this.takenMs) {
      this.wanted.heard(station.delay_ms);
    }
    this.put();
  }

  /** @param {1 | -1} way */
  step(way) {
    const from = this.wanted.shown;
    if (this.station === null || from === null) {
      return;
    }
    this.typing = false;
    this.press(stepped(from, way, this.station));
  }

  /** What stands in the field is meant now. */
  typed() {
    if (!this.typing || this.station === null) {
      return;
    }
    const read = readSeconds(this.field.value, this.station);
    if ('wrong' in read) {
      this.field.setAttribute('aria-invalid', 'true');
      this.say(read.wrong === 'number'
        ? words('live-remote-bad-number', { most: seconds(this.station.delay_most_ms, lang) })
        : words('live-remote-bad-step', { step: seconds(this.station.delay_step_ms, lang) }));
      return;
    }
    this.field.removeAttribute('aria-invalid');
    this.press(read.ms);
  }

  /** @param {number} ms */
  press(ms) {
    this.wanted.press(ms);
    this.say(words('live-remote-setting'));
    this.put();
    this.send();
  }

  send() {
    const ms = this.wanted.send();
    if (ms === null) {
      return;
    }
    ask('/api/stations/' + this.number, {
      method: 'PATCH',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ delay_ms: ms }),
    }).then((answer) => {
      if (answer.ok) {
        this.taken(ms);
        return undefined;
      }
      return answer.json().catch(function () { return null; }).then((body) => {
        this.failed(words('live-remote-refused', { detail: problemText(body) || String(answer.status) }), ms);
      });
    }).catch(() => { this.failed(words('live-remote-not-set'), ms); });
  }

  /** @param {number} ms */
  taken(ms) {
    this.takenMs = performance.now();
    if (this.wanted.taken()) {
      this.typing = false;
      this.say(delaySet(lesson.info, ms, lang, words));
    }
    this.put();
    this.send();
  }

  /** @param {string} why @param {number} ms what was wanted, kept if it was typed */
  failed(why, ms) {
    this.wanted.failed();
    this.say(why);
    // A typed value stays where it was typed, to be pressed again.
    if (this.typing && this.field.value.trim() === '') {
      this.field.value = seconds(ms, lang);
    }
    this.put();
  }

  /** @param {string} what */
  say(what) {
    text(this.part('.said'), what);
  }

  /** Says what is short, while it is. @param {Station} s */
  memory(s) {
    const place = this.part('.memory');
    place.hidden = s.reach_ms >= s.window_ms;
    text(place, place.hidden ? '' : words(s.delay_now_ms < s.delay_ms ? 'live-remote-memory-delay' : 'live-remote-memory', {
      reach: seconds(s.reach_ms, lang),
      window: seconds(s.window_ms, lang),
      delay: seconds(s.delay_now_ms, lang),
    }));
  }

  put() {
    const s = this.station;
    const shown = this.wanted.shown;
    if (s === null || shown === null) {
      return;
    }
    text(this.part('.title'), s.title);
    text(this.part('.late'), words('live-station-late', { seconds: seconds(s.delay_now_ms, lang) }));
    if (!this.typing) {
      this.field.removeAttribute('aria-invalid');
      const value = seconds(shown, lang);
      if (this.field.value !== value) { this.field.value = value; }
    }
    // Not `disabled`: a button that vanishes under the thumb loses the focus.
    this.less.setAttribute('aria-disabled', String(shown <= 0));
    this.more.setAttribute('aria-disabled', String(shown >= s.delay_most_ms));
    // Whether there is a class stands at the top; in one a camera is off for other reasons.
    text(this.part('.camera'), words(s.camera.state === 'off' ? 'live-remote-camera-off' : 'live-camera-' + s.camera.state.replace(/_/g, '-')));
    this.memory(s);
    this.part('.camera-moved').hidden = !s.camera.moved;
    notes(this.part('.notes'), s.camera);
    const lost = s.viewers.reduce(function (sum, v) { return sum + v.dropped_pictures + v.lost_pictures; }, 0);
    const stuck = s.viewers.filter(function (v) { return v.stuck_ms >= STUCK_MS; }).length;
    const said = [words('live-remote-screens', { screens: s.viewers.length })];
    if (stuck > 0) {
      said.push(words('live-remote-stuck', { screens: stuck }));
    }
    said.push(words('live-remote-lost', { pictures: lost }));
    text(this.part('.screens'), said.join('. '));
  }
}

/**
 * What could be better about a camera, a line each; first what can be helped at
 * once.
 * @param {HTMLElement} place
 * @param {import('./wire').CameraInfo} camera
 */
function notes(place, camera) {
  const sight = sightSaid(camera.sight, words);
  lines(place, (sight === '' ? [] : [sight]).concat(camera.notes.map(function (one) {
    return words('live-note-' + one.note.replace(/_/g, '-'), Object.assign({}, one));
  })));
}

/** @param {HTMLElement} place a list @param {string[]} said */
function lines(place, said) {
  if (place.textContent === said.join('')) {
    return;
  }
  place.textContent = '';
  said.forEach(function (line) {
    const item = document.createElement('li');
    item.textContent = line;
    place.appendChild(item);
  });
}

/** @param {HTMLElement} place @param {string} what */
function text(place, what) {
  if (place.textContent !== what) {
    place.textContent = what;
  }
}

/** @type {Row[]} */
const rows = [];
document.querySelectorAll('#stations .station').forEach(function (item) {
  rows.push(new Row(/** @type {HTMLElement} */ (item)));
});

const showing = new ShowingForm(document.body, words, ask, problemText);
const tuning = new TuningForm(words, lang, leads, ask, problemText, showing);
const sound = new SoundForm(words, ask, problemText);
const today = new Today(words, function (change, label) { lesson.change(change, label); });

const start = new StartForm(words, lang, presses, function () { return ask('/api/class/start', {}).then(json); },
  function (info) { lesson.heard(info); });

const shown = new ShownForm(words, leads, presses, function (info) { lesson.heard(info); });

lesson.onInfo = function (info) {
  start.heard(info);
  shown.heard(info);
  tuning.heard(info);
  today.heard(info);
  rows.forEach(function (row) { row.card.heard(info); });
};

let missed = 0;
/** Only the newest of the loops that ask goes on. */
let asking = 0;

/** @param {string} what */
function notice(what) {
  part('notice').hidden = what === '';
  put('notice', what);
}

function look() {
  asking += 1;
  const own = asking;
  const askedMs = performance.now();
  const klass = ask('/api/class', {}).then(json).then(function (info) { lesson.heard(info); });
  showing.look();
  sound.look();
  const stations = ask('/api/stations', {}).then(json).then(function (body) {
    lines(part('failed'), failedSaid(body.failed, words));
    for (const row of rows) {
      const station = body.stations.filter(function (/** @type {Station} */ s) { return s.number === row.number; })[0];
      row.item.hidden = station === undefined;
      if (station !== undefined) {
        row.heard(station, askedMs);
      }
    }
  });
  Promise.all([klass, stations]).then(function () {
    missed = 0;
    notice('');
  }, function (/** @type {any} */ problem) {
    missed += 1;
    if (problem && (problem.status === 401 || problem.status === 403)) {
      notice(words('live-remote-signed-out'));
    } else if (missed >= MISSED_TO_SAY) {
      notice(words('live-remote-no-answer'));
    }
  }).then(function () {
    if (own === asking) {
      setTimeout(function () { if (own === asking) { look(); } }, ASK_MS);
    }
  });
}

/** @param {Response} answer @returns {Promise<any>} */
function json(answer) {
  if (!answer.ok) {
    throw Object.assign(new Error('status ' + answer.status), { status: answer.status });
  }
  return answer.json();
}

// A phone that wakes shows nothing old as if it were so, and asks at once.
document.addEventListener('visibilitychange', function () {
  if (document.visibilityState === 'visible') {
    lesson.tick();
    look();
  }
});
window.addEventListener('offline', function () { notice(words('live-remote-no-network')); });
window.addEventListener('online', look);
setInterval(function () { lesson.tick(); undone(); rows.forEach(function (row) { row.now.tick(); }); }, TICK_MS);

look();
