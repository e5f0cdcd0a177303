// A station's screen without a page: opens the socket, asks for pictures, says
// where its buffer ends, and notes what it is sent and when.
//
// Not here: more of WebSocket (RFC 6455) than the box uses, and what is to be seen.

import { randomBytes } from 'node:crypto';
import { line } from './client.mjs';
import { readSegment } from '../../../web/live/boxes.js';

/** As often as a page does. */
const REPORT_MS = 250;
const [TEXT, BINARY, CLOSE, PING, PONG] = [1, 2, 8, 9, 10];

/** A frame as a client sends it: masked (§5.3), and shorter than 64 KiB. */
export function frame(opcode, payload) {
  const bytes = Buffer.from(payload);
  const long = bytes.length > 125;
  const head = Buffer.alloc(long ? 4 : 2);
  head[0] = 0x80 | opcode;
  head[1] = 0x80 | (long ? 126 : bytes.length);
  if (long) head.writeUInt16BE(bytes.length, 2);
  const mask = randomBytes(4);
  return Buffer.concat([head, mask, bytes.map((byte, at) => byte ^ mask[at % 4])]);
}

export const say = (socket, message) => socket.write(frame(TEXT, JSON.stringify(message)));

/** What asks for a screen's socket. */
export function handshake(box, station, cookie, headers = {}) {
  const all = {
    host: `${box.address}:${box.port}`, origin: box.base, ...(cookie ? { cookie } : {}), ...headers,
    connection: 'Upgrade', upgrade: 'websocket', 'sec-websocket-version': '13',
    'sec-websocket-key': randomBytes(16).toString('base64'),
  };
  const lines = Object.entries(all).filter(([, value]) => value !== null).map(([name, value]) => `${name}: ${value}\r\n`);
  return `GET /api/stations/${station}/view HTTP/1.1\r\n${lines.join('')}\r\n`;
}

/** Takes whole frames from the front of what was heard; returns what is left. */
function frames(heard, each) {
  let rest = heard;
  for (;;) {
    if (rest.length < 2) return rest;
    let length = rest[1] & 127;
    let from = 2;
    if (length === 126 && rest.length >= 4) [length, from] = [rest.readUInt16BE(2), 4];
    else if (length === 127 && rest.length >= 10) [length, from] = [Number(rest.readBigUInt64BE(2)), 10];
    else if (length > 125) return rest;
    if (rest.length < from + length) return rest;
    each(rest[0] & 15, rest.subarray(from, from + length));
    rest = rest.subarray(from + length);
  }
}

export class Screen {
  constructor(station) {
    Object.assign(this, { station, pictures: [], covers: [], states: 0, class: null, delay_ms: null, over: false, removed: false });
    this.heard = Buffer.alloc(0);
    this.open = false;
    /** The server's clock less ours, from the quickest of its answers. */
    this.ahead_us = 0;
    this.quickest_ms = Infinity;
  }

  /** Opens one with what a client was let in as; rejects where that is refused. */
  static async open(client, station, { wants = true, within_ms = 10000 } = {}) {
    const screen = new Screen(station);
    const socket = await line(client.box, client.from);
    screen.socket = socket;
    await new Promise((resolve, reject) => {
      const timer = setTimeout(() => reject(new Error('the socket is not answered')), within_ms);
      const fail = (why) => {
        clearTimeout(timer);
        socket.destroy();
        reject(new Error(why));
      };
      socket.once('close', () => {
        screen.over = true;
        fail('the line was cut');
      });
      socket.on('data', (bytes) => {
        const at_ms = now_ms();
        screen.heard = Buffer.concat([screen.heard, bytes]);
        if (!screen.open) {
          const end = screen.heard.indexOf('\r\n\r\n');
          if (end < 0) return;
          const status = screen.heard.subarray(9, 12).toString('latin1');
          if (status !== '101') {
            fail(`the socket is refused: ${status}`);
            return;
          }
          screen.open = true;
          screen.heard = screen.heard.subarray(end + 4);
          clearTimeout(timer);
          resolve();
        }
        screen.heard = frames(screen.heard, (opcode, payload) => screen.hear(opcode, payload, at_ms));
      });
      socket.write(handshake(client.box, station, client.cookie()));
    });
    screen.clock();
    if (wants) say(socket, { type: 'want', from_us: null });
    screen.reporter = setInterval(() => screen.report(), REPORT_MS);
    return screen;
  }

  clock() {
    say(this.socket, { type: 'clock', t1_us: Math.round(now_ms() * 1000) });
  }

  report() {
    const last = this.pictures[this.pictures.length - 1];
    const buffer_end_us = last ? last.capture_us : null;
    say(this.socket, { type: 'report', buffer_end_us, glass_us: null, error_us: null, dropped_pictures: 0 });
    if (this.states % 4 === 0) this.clock();
  }

  hear(opcode, payload, at_ms) {
    if (opcode === PING) this.socket.write(frame(PONG, payload));
    else if (opcode === CLOSE) this.close();
    else if (opcode === BINARY) {
      const bytes = payload.buffer.slice(payload.byteOffset, payload.byteOffset + payload.byteLength);
      const segment = readSegment(bytes);
      if (segment.kind === 'fragment') this.pictures.push({ at_ms, capture_us: segment.captureUs, delay_ms: this.delay_ms });
    } else if (opcode === TEXT) this.message(JSON.parse(payload.toString('utf8')), at_ms);
  }

  message(said, at_ms) {
    if (said.type === 'state') {
      this.states += 1;
      this.delay_ms = said.delay_ms;
    } else if (said.type === 'class') this.class = said;
    else if (said.type === 'cover') this.covers.push({ at_ms, ...said });
    else if (said.type === 'removed') this.removed = true;
    else if (said.type === 'clock') {
      const round_ms = at_ms - said.t1_us / 1000;
      if (round_ms < this.quickest_ms) {
        this.quickest_ms = round_ms;
        this.ahead_us = said.t2_us - said.t1_us - (round_ms * 1000) / 2;
      }
    }
  }

  /** Pictures that came when they should have been on the glass already. */
  late(since_ms = 0) {
    const lead_ms = ({ at_ms, capture_us, delay_ms }) => (capture_us - this.ahead_us) / 1000 + delay_ms - at_ms;
    const leads = this.pictures.filter((picture) => picture.at_ms >= since_ms && picture.delay_ms !== null).map(lead_ms);
    return { pictures: leads.length, late: leads.filter((lead) => lead < 0).length, worst_ms: Math.min(...leads) };
  }

  close() {
    clearInterval(this.reporter);
    this.over = true;
    this.socket.destroy();
  }
}

/** One clock for all that is noted here. */
export const now_ms = () => performance.timeOrigin + performance.now();
