// Requests that are not meant for the box, or come from a page of another site:
// as the teacher's browser would be made to send them, session and all.

import { Box } from './box.mjs';
import { raw } from './client.mjs';
import { handshake } from './screen.mjs';

/** What a browser of the teacher's adds by itself is in every one of them. */
function request(box, { method = 'GET', target = '/api/class', host = `${box.address}:${box.port}`, headers = [], body = '' }) {
  const length = body ? [`content-length: ${Buffer.byteLength(body)}`, 'content-type: application/json'] : [];
  const hosts = [host].flat().filter((one) => one !== null).map((one) => `host: ${one}`);
  const all = [...hosts, `cookie: ${box.teacher.cookie()}`, ...headers, ...length, 'connection: close'];
  return `${method} ${target} HTTP/1.1\r\n${all.map((one) => `${one}\r\n`).join('')}\r\n${body}`;
}

const PRESS = { method: 'POST', target: '/api/class/presses', body: '{"id": "a", "press": {"press": "next"}}' };

function table(box) {
  const own = `${box.address}:${box.port}`;
  const foreignHosts = [
    'gym.example:8443', 'gym.example', box.address, `${box.address}:443`, '127.0.0.1:8443', 'localhost:8443',
    `${own}.gym.example`, `gym.${own}`, 'afterturn.local', 'afterturn.local.gym.example:8443', '192.168.1.4:8443', '',
  ];
  const foreignOrigins = [
    'https://gym.example', 'http://gym.example:8443', 'null', `http://${own}`, `https://${box.address}`, `https://${box.address}:8444`,
    `${box.base}.gym.example`, 'https://afterturn.local:8443', 'https://', '',
  ];
  const rows = [
    ...foreignHosts.map((host) => [`host "${host}"`, request(box, { host })]),
    ['no host', request(box, { host: null })],
    ['two hosts, the first ours', request(box, { host: [own, 'gym.example'] })],
    ['two hosts, the last ours', request(box, { host: ['gym.example', own] })],
    ['another host in the target', request(box, { target: 'https://gym.example:8443/api/class' })],
    ...foreignOrigins.flatMap((origin) => [
      [`origin "${origin}"`, request(box, { headers: [`origin: ${origin}`] })],
      [`a press from "${origin}"`, request(box, { ...PRESS, headers: [`origin: ${origin}`] })],
    ]),
    ['two origins', request(box, { ...PRESS, headers: [`origin: ${box.base}`, 'origin: https://gym.example'] })],
    ['a press that says of no page', request(box, PRESS)],
    ...['cross-site', 'same-site', 'Same-Origin', 'anything'].flatMap((site) => [
      [`sec-fetch-site ${site}`, request(box, { headers: [`sec-fetch-site: ${site}`] })],
      [`a press, sec-fetch-site ${site}`, request(box, { ...PRESS, headers: [`origin: ${box.base}`, `sec-fetch-site: ${site}`] })],
    ]),
  ];
  const socket = (headers, cookie = box.teacher.cookie()) => handshake(box, 1, cookie, headers);
  const sockets = [
    ['a socket from another site', socket({ origin: 'https://gym.example' })],
    ['a socket from nowhere', socket({ origin: 'null' })],
    ['a socket, sec-fetch-site cross-site', socket({ 'sec-fetch-site': 'cross-site' })],
    ['a socket for another host', socket({ host: 'gym.example:8443', origin: 'https://gym.example:8443' })],
    ['a socket without a session', socket({}, '')],
  ];
  return [...rows, ...sockets];
}

export async function foreign(tell) {
  const box = await Box.open();
  // What is refused below is refused for what is foreign in it.
  const ours = [
    ['a question', request(box, {}), 200],
    ['a question from our page', request(box, { headers: [`origin: ${box.base}`, 'sec-fetch-site: same-origin'] }), 200],
    ['a press without a class', request(box, { ...PRESS, headers: [`origin: ${box.base}`] }), 409],
    ['a socket', handshake(box, 1, box.teacher.cookie()), 101],
  ];
  const turnedAway = [];
  for (const [name, text, status] of ours) {
    const heard = await raw(box, text);
    if (heard !== status && !(status === 409 && heard >= 404 && heard <= 422)) turnedAway.push(`${name}: ${heard}`);
  }
  tell('our own pages\' requests are answered', turnedAway.join('; ') || `${ours.length} of ${ours.length}`, turnedAway.length === 0);
  const rows = table(box);
  const taken = [];
  for (const [name, text] of rows) {
    const heard = await raw(box, text);
    // An answer of its own, or a line that is cut: nothing is done and nothing told.
    if (heard !== 0 && !(heard >= 400 && heard < 500)) taken.push(`${name}: ${heard}`);
  }
  tell(`${rows.length} requests that are foreign in one thing are refused`,
    taken.length ? `not refused: ${taken.join('; ')}` : 'all were refused', taken.length === 0);
  await box.close();
}
