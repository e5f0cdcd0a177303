// Whoever asks the box something from outside, over HTTPS, as a browser would:
// from an address of its own, with the cookies it was given.
//
// Not here: sockets (`screen.mjs`), and what is asked.

import https from 'node:https';
import tls from 'node:tls';
import { at } from './network.mjs';

/** One that answers nothing for so long is given up. */
const PATIENCE_MS = 120000;

export class Client {
  constructor(box, from = at(2, 1)) {
    Object.assign(this, { box, from, cookies: new Map() });
    this.connect();
  }

  /** Anew, trusting whom the box says is its authority: nobody is locked out here by another one. */
  connect() {
    this.agent = new https.Agent({ keepAlive: true, maxSockets: 4, ca: this.box.ca, localAddress: this.from });
  }

  cookie() {
    return [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; ');
  }

  /** An answer: status, headers, text. Rejects where there is none. */
  ask(route, { method = 'GET', headers = {}, body = null } = {}) {
    const own = { origin: this.box.base, ...(this.cookies.size ? { cookie: this.cookie() } : {}) };
    const length = body === null ? {} : { 'content-length': Buffer.byteLength(body) };
    return new Promise((resolve, reject) => {
      const request = https.request(this.box.base + route, {
        method, agent: this.agent, timeout: PATIENCE_MS, headers: { ...own, ...length, ...headers },
      });
      request.once('response', (response) => {
        const parts = [];
        response.on('data', (part) => parts.push(part));
        response.once('error', reject);
        response.once('end', () => {
          this.take(response.headers['set-cookie'] || []);
          const bytes = Buffer.concat(parts);
          resolve({ status: response.statusCode, headers: response.headers, bytes, text: bytes.toString('utf8') });
        });
      });
      request.once('timeout', () => request.destroy(new Error(`${route} is not answered`)));
      request.once('error', reject);
      request.end(body);
    });
  }

  take(given) {
    for (const line of given) {
      const [, name, value] = /^([^=]+)=([^;]*)/.exec(line);
      if (value) this.cookies.set(name, value);
      else this.cookies.delete(name);
    }
  }

  get(route) {
    return this.ask(route);
  }

  page(route) {
    return this.ask(route, { headers: { accept: 'text/html' } });
  }

  form(route, fields) {
    const headers = { 'content-type': 'application/x-www-form-urlencoded', accept: 'text/html' };
    return this.ask(route, { method: 'POST', headers, body: new URLSearchParams(fields).toString() });
  }

  json(route, value, method = 'POST') {
    return this.ask(route, { method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(value) });
  }

  /** A form with a file. */
  file(route, fields, name, bytes) {
    const mark = '----afterturn-probe';
    const part = ([field, value]) => `--${mark}\r\ncontent-disposition: form-data; name="${field}"\r\n\r\n${value}\r\n`;
    const head = `${Object.entries(fields).map(part).join('')}--${mark}\r\n`
      + `content-disposition: form-data; name="file"; filename="${name}"\r\ncontent-type: application/octet-stream\r\n\r\n`;
    const body = Buffer.concat([Buffer.from(head), bytes, Buffer.from(`\r\n--${mark}--\r\n`)]);
    const headers = { 'content-type': `multipart/form-data; boundary=${mark}`, accept: 'text/html' };
    return this.ask(route, { method: 'POST', headers, body });
  }

  close() {
    this.agent.destroy();
  }
}

/** A form that had to be taken. */
export async function done(answer) {
  const reply = await answer;
  if (reply.status !== 303 && reply.status !== 200) throw new Error(`not taken: ${reply.status} ${reply.text.slice(0, 400)}`);
  return reply;
}

/** A line to the box, encrypted, on which anything can be written. */
export function line(box, from = at(2, 1)) {
  return new Promise((resolve, reject) => {
    const socket = tls.connect({ host: box.address, port: box.port, localAddress: from, ca: box.ca });
    socket.once('secureConnect', () => {
      socket.removeListener('error', reject);
      // Whoever is sent away is not surprised.
      socket.on('error', () => {});
      resolve(socket);
    });
    socket.once('error', reject);
  });
}

/** The status of the answer to bytes as they are; 0 where the line is cut without one. */
export async function raw(box, text, within_ms = 5000) {
  const socket = await line(box);
  socket.write(text);
  return new Promise((resolve) => {
    let heard = '';
    const over = (status) => {
      clearTimeout(timer);
      socket.destroy();
      resolve(status);
    };
    const timer = setTimeout(() => over(-1), within_ms);
    socket.on('data', (bytes) => {
      heard += bytes.toString('latin1');
      const found = /^HTTP\/1\.1 (\d{3})/.exec(heard);
      if (found) over(Number(found[1]));
    });
    socket.once('close', () => over(0));
  });
}
