/**
 * One station's socket: opens it, keeps the server's clock, reports, and opens
 * it again. The protocol is in src/core/wire/mod.rs.
 *
 * Not here: what the messages mean for the glass, the buffer, the decisions
 * themselves (wants.js).
 */

import { LastClick } from './clicker.js';
import { ServerClock } from './clock.js';
import { newId } from './presses.js';
import { buildCheck, reportIsDue, retryAfterMs } from './wants.js';

/** The protocol this page speaks: `PROTOCOL` in src/core/wire/mod.rs. */
export const PROTOCOL = 2;

/** A few quick questions, then one each second. */
const QUICK_QUESTIONS = 5;
const QUICK_MS = 40;
const QUESTION_MS = 1000;
/** A socket that has said nothing for this long is dead, whatever it says of itself. */
const DEAD_MS = 3000;
const TICK_MS = 50;
const RELOADED_KEY = 'afterturn-reloaded-for';

/**
 * @typedef {import('./wire').FromServer} FromServer
 * @typedef {import('./wire').FromScreen} FromScreen
 *
 * @typedef {object} On
 * @property {(message: FromServer) => void} message all but `clock` and `holds`
 * @property {(bytes: ArrayBuffer) => void} bytes
 * @property {(times: number) => void} failed it did not open, so many times in a row
 * @property {() => void} opened the server said hello, and may be asked for pictures
 * @property {() => {endUs: number | null, glassUs: number | null, errorUs: number | null, dropped: number}} standing
 */

export class Link {
  /**
   * @param {string} url
   * @param {string} build this page's
   * @param {On} on
   */
  constructor(url, build, on) {
    this.url = url;
    this.build = build;
    this.on = on;
    this.clock = new ServerClock();
    this.lastClick = new LastClick();
    /** @type {WebSocket | null} */
    this.socket = null;
    this.greeted = false;
    this.failed = 0;
    /** @type {number | null} */
    this.heardAtMs = null;
    /** Up to when the server vouched for what it had said, on its own clock. @type {number | null} */
    this.holdsUs = null;
    this.askedAtMs = 0;
    this.quick = 0;
    this.triedAtMs = 0;
    this.retryAtMs = 0;
    /** @type {{atUs: number, endUs: number | null}} */
    this.reported = { atUs: 0, endUs: null };
    this.open();
    setInterval(() => { this.tick(); }, TICK_MS);
    const again = () => { this.woke(); };
    document.addEventListener('visibilitychange', again);
    document.addEventListener('resume', again);
    window.addEventListener('pageshow', again);
  }

  /** Microseconds since anything was heard; `null`: never yet. */
  heardAgoUs() {
    return this.heardAtMs === null ? null : (performance.now() - this.heardAtMs) * 1000;
  }

  /**
   * Microseconds since the server vouched for what it had said, by its own
   * clock: what came late counts as old. `null`: not yet on this socket.
   */
  vouchedAgoUs() {
    return this.holdsUs === null || !this.clock.known ? null : this.serverUs(performance.now()) - this.holdsUs;
  }

  /** The server's clock at a page time. @param {number} pageMs */
  serverUs(pageMs) {
    return this.clock.serverUs(pageMs * 1000);
  }

  open() {
    const nowMs = performance.now();
    this.triedAtMs = nowMs;
    this.greeted = false;
    let socket;
    try {
      socket = new WebSocket(this.url);
    } catch (problem) {
      console.error('socket', problem);
      this.lost(null);
      return;
    }
    socket.binaryType = 'arraybuffer';
    this.socket = socket;
    socket.onmessage = (event) => {
      if (this.socket === socket) { this.heard(event.data); }
    };
    socket.onclose = () => { this.lost(socket); };
    socket.onerror = () => { this.lost(socket); };
  }

  /** @param {WebSocket | null} socket */
  lost(socket) {
    if (socket !== this.socket) {
      return;
    }
    this.socket = null;
    this.greeted = false;
    this.failed += 1;
    this.retryAtMs = performance.now() + retryAfterMs(this.failed);
    this.on.failed(this.failed);
    if (socket !== null) {
      socket.onmessage = null;
      socket.close();
    }
  }

  /** @param {string | ArrayBuffer} data */
  heard(data) {
    const nowMs = performance.now();
    this.heardAtMs = nowMs;
    if (typeof data !== 'string') {
      this.on.bytes(data);
      return;
    }
    /** @type {FromServer} */
    let message;
    try {
      message = JSON.parse(data);
    } catch (problem) {
      console.error('message unreadable', problem);
      return;
    }
    if (message.type === 'holds') {
      this.holdsUs = message.at_us;
      return;
    }
    if (message.type === 'clock') {
      this.clock.add({ t1: message.t1_us, t2: message.t2_us, t3: message.t3_us, t4: nowMs * 1000 });
      return;
    }
    if (message.type === 'hello' && !this.hello(message)) {
      return;
    }
    if (message.type === 'refused') {
      console.error('refused:', message.detail);
    }
    this.on.message(message);
    if (message.type === 'hello') {
      this.on.opened();
    }
  }

  /**
   * @param {{protocol: number, build: string}} hello
   * @returns {boolean} whether to go on
   */
  hello(hello) {
    const page = { protocol: PROTOCOL, build: this.build };
    const verdict = buildCheck(hello, page, remembered());
    // Reload only if that can be remembered: else it could go round for ever.
    if (verdict === 'reload' && remember(hello.build)) {
      location.reload();
      return false;
    }
    if (verdict === 'misfit') {
      console.error('the server speaks protocol ' + hello.protocol + ', this page ' + PROTOCOL);
      this.lost(this.socket);
      return false;
    }
    this.failed = 0;
    this.greeted = true;
    this.holdsUs = null;
    this.quick = QUICK_QUESTIONS;
    this.reported = { atUs: 0, endUs: null };
    this.tick();
    const click = this.lastClick.still(performance.now());
    if (click !== null) {
      this.send(click);
    }
    return true;
  }

  tick() {
    const nowMs = performance.now();
    if (this.socket === null) {
      if (nowMs >= this.retryAtMs) { this.open(); }
      return;
    }
    const last = Math.max(this.triedAtMs, this.heardAtMs === null ? 0 : this.heardAtMs);
    if (nowMs - last > DEAD_MS) {
      this.lost(this.socket);
      return;
    }
    if (!this.greeted) {
      return;
    }
    if (nowMs - this.askedAtMs >= (this.quick > 0 ? QUICK_MS : QUESTION_MS)) {
      this.ask(nowMs);
    }
    this.report();
  }

  /** @param {number} nowMs */
  ask(nowMs) {
    this.askedAtMs = nowMs;
    this.quick = Math.max(0, this.quick - 1);
    this.send({ type: 'clock', t1_us: Math.round(performance.now() * 1000) });
  }

  /** Reports if it is time to. */
  report() {
    const nowUs = performance.now() * 1000;
    const s = this.on.standing();
    if (!this.greeted || !reportIsDue(nowUs, this.reported, s.endUs)) {
      return;
    }
    this.reported = { atUs: nowUs, endUs: s.endUs };
    this.send({
      type: 'report',
      buffer_end_us: whole(s.endUs),
      glass_us: whole(s.glassUs),
      error_us: whole(s.errorUs),
      dropped_pictures: s.dropped,
    });
  }

  /** Asks for pictures. @param {number | null} fromUs */
  want(fromUs) {
    this.send({ type: 'want', from_us: whole(fromUs) });
  }

  /** Somebody at the screen asks for the last attempt once more. */
  again() {
    this.send({ type: 'again' });
  }

  /** Somebody at the screen pressed *next*. @param {import('./wire').Click} click */
  click(click) {
    this.send(this.lastClick.keep({ type: 'click', id: newId(), click: click }, performance.now()));
  }

  /** The page was asleep or away: the clock may be wrong now. */
  woke() {
    if (!document.hidden) {
      this.quick = QUICK_QUESTIONS;
      this.tick();
    }
  }

  /** @param {FromScreen} message */
  send(message) {
    if (this.socket !== null && this.socket.readyState === 1 && this.greeted) {
      this.socket.send(JSON.stringify(message));
    }
  }
}

/** @param {number | null} us */
function whole(us) {
  return us === null ? null : Math.round(us);
}

function remembered() {
  try {
    return sessionStorage.getItem(RELOADED_KEY);
  } catch (blocked) {
    return null;
  }
}

/** @param {string} build @returns {boolean} whether it will be remembered */
function remember(build) {
  try {
    sessionStorage.setItem(RELOADED_KEY, build);
    return sessionStorage.getItem(RELOADED_KEY) === build;
  } catch (blocked) {
    console.error('this browser keeps nothing; this page may be an old one');
    return false;
  }
}
