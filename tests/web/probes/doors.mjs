// Attempts to put out who is signed in, to keep out who knows the passphrase, and
// to make the box hold what strangers send.

import * as stage from '../stage.mjs';
import { forgetMost, mostResidentBytes, residentBytes } from '../process.mjs';
import { Box, PASSPHRASE, PIN } from './box.mjs';
import { Client, done, line } from './client.mjs';
import { at } from './network.mjs';
import { Screen } from './screen.mjs';

const MB = 1e6;
const mb = (bytes) => `${(bytes / MB).toFixed(0)} MB`;

export async function signIns(tell) {
  const box = await Box.open();
  const devices = new Map([['the teacher', [box.teacher, '/api/class']]]);
  for (const [station, screen] of box.screens) devices.set(`the TV of station ${station}`, [screen, `/tv/${station}`]);
  devices.set('the tablet of station 1', [await box.letIn(at(1, 21), { station: '1', as: 'camera' }), '/camera/1']);
  devices.set('the board', [await box.letIn(at(1, 22), { station: 'hall' }), '/hall']);
  const isIn = async ([client, route]) => (await client.get(route)).status === 200;
  for (const [name, device] of devices) if (!await isIn(device)) throw new Error(`${name} was not let in`);
  const socket = await Screen.open(box.screens.get(1), 1);
  const TIMES = 220;
  let right = 0;
  for (let i = 0; i < TIMES; i += 1) {
    const { client, reply } = await box.signIn(at(3, 1 + (i % 20)), { pin: PIN });
    right += reply.status === 303 ? 1 : 0;
    client.close();
  }
  const out = [];
  for (const [name, device] of devices) if (!await isIn(device)) out.push(name);
  if (socket.over || socket.removed) out.push('the open socket of station 1');
  tell(`after ${TIMES} sign-ins with the right PIN everybody else is signed in still`,
    `${right} were let in; ${out.length ? `signed out: ${out.join(', ')}` : 'nobody was signed out'}`, out.length === 0 && right > 0);
  socket.close();
  await box.close();
}

/** Addresses that guess, of which each has five guesses free. */
const GUESSERS = [2, 3, 4, 5, 6, 7].map((last) => at(6, last));
/** As the door promises: all together never wait longer (src/door/guesses.rs). */
const LONGEST_WAIT_S = 120;
/** What "at once" leaves for a hash and a page, behind a guess that is being looked at. */
const AT_ONCE_MS = 5000;

/** Guesses from an address until it is told to wait. */
async function guess(box, from, secrets) {
  const client = new Client(box, from);
  let [wrong, waits] = [0, 0];
  for (const secret of secrets) {
    for (let i = 0; i < 6; i += 1) {
      const { status } = await client.form('/sign-in', secret(i));
      if (status === 401) wrong += 1;
      else if (status === 429) waits += 1;
      else throw new Error(`a wrong guess is answered with ${status}`);
    }
  }
  client.close();
  return { wrong, waits };
}

export async function lockOut(tell) {
  const box = await Box.open();
  await done(box.lock());
  const secrets = [(i) => ({ pin: `73915${i}` }), (i) => ({ passphrase: `not the passphrase ${i}` })];
  const all = await Promise.all(GUESSERS.map((from) => guess(box, from, secrets)));
  const sum = (what) => all.reduce((so_far, one) => so_far + one[what], 0);
  if (sum('waits') === 0) throw new Error('nobody was told to wait');

  // They go on while the teacher writes.
  let on = true;
  const going = GUESSERS.map(async (from) => {
    while (on) {
      await guess(box, from, secrets);
      await stage.sleep(100);
    }
  });
  const child = box.of(3)[1];
  const began_ms = Date.now();
  const unlocked = await box.unlock();
  const recorded = await box.answer(child, 'no');
  const took_ms = Date.now() - began_ms;
  on = false;
  await Promise.all(going);
  const written = unlocked.status === 303 && recorded.status === 303;
  const said = written ? `done in ${took_ms} ms` : `the list is opened with ${unlocked.status}, the no taken with ${recorded.status}`;
  tell(`${sum('wrong')} wrong guesses from six addresses: the signed-in teacher opens the list and writes a no down at once`,
    said, written && took_ms < AT_ONCE_MS);

  const since_ms = Date.now();
  let status = 0;
  let told_s = 0;
  while (status !== 303 && Date.now() - since_ms < (LONGEST_WAIT_S + 10) * 1000) {
    const { client, reply } = await box.signIn(at(6, 8), { passphrase: PASSPHRASE });
    client.close();
    status = reply.status;
    if (status === 303) break;
    const wait_s = Number(reply.headers['retry-after'] || 1);
    told_s = Math.max(told_s, wait_s);
    await stage.sleep(Math.min(wait_s, LONGEST_WAIT_S + 5) * 1000);
  }
  const waited_s = (Date.now() - since_ms) / 1000;
  tell(`a seventh address with the right passphrase gets in within ${LONGEST_WAIT_S} s`,
    `${status === 303 ? 'in' : 'not in'} after ${waited_s.toFixed(1)} s; told to wait ${told_s} s`,
    status === 303 && waited_s <= LONGEST_WAIT_S + 5 && told_s <= LONGEST_WAIT_S);
  await box.close();
}

const BODY_BYTES = 8 * 1024 * 1024;
const CONNECTIONS = 40;
const MOST_GROWTH_BYTES = 40 * MB;
/** The doors a stranger might send much to. */
const TAKES = ['/api/pictures', '/roster/import', '/roster/vault', '/api/units/x', '/sign-in'];

/** Waits for the first of some events, or until the time is over. */
function any(socket, events, within_ms) {
  return new Promise((resolve) => {
    const over = () => {
      clearTimeout(timer);
      events.forEach((event) => socket.removeListener(event, over));
      resolve();
    };
    const timer = setTimeout(over, within_ms);
    events.forEach((event) => socket.once(event, over));
  });
}

/** Sends all of a body but its end, unless it is refused before; what it hears. */
async function send(box, from, route, everybody) {
  const socket = await line(box, from);
  let heard = '';
  socket.on('data', (bytes) => { heard += bytes.toString('latin1'); });
  socket.write(`POST ${route} HTTP/1.1\r\nhost: ${box.address}:${box.port}\r\norigin: ${box.base}\r\n`
    + `content-type: application/octet-stream\r\ncontent-length: ${BODY_BYTES}\r\n\r\n`);
  const part = Buffer.alloc(64 * 1024, 'a');
  for (let sent = 0; sent + part.length < BODY_BYTES && !heard && !socket.destroyed; sent += part.length) {
    if (!socket.write(part)) await any(socket, ['drain', 'data', 'close'], 8000);
  }
  await everybody();
  const cut = socket.destroyed;
  socket.destroy();
  const found = /^HTTP\/1\.1 (\d{3})/.exec(heard);
  if (found) return found[1];
  return cut ? 'by cutting the line' : 'not before it was there';
}

export async function bodies(tell) {
  const box = await Box.open();
  for (const route of TAKES) {
    // What was given back stays with the allocator, and would hide the next.
    await box.again();
    await stage.sleep(1000);
    const before = residentBytes(box.pid);
    forgetMost(box.pid);
    // Nobody lets go before all have sent.
    let there = 0;
    let all;
    const gathered = new Promise((resolve) => { all = resolve; });
    const everybody = () => {
      there += 1;
      if (there === CONNECTIONS) all();
      return Promise.race([gathered, stage.sleep(9000)]);
    };
    const from = (i) => at(4, 1 + (i % 20));
    const statuses = await Promise.all(Array.from({ length: CONNECTIONS }, (_, i) => send(box, from(i), route, everybody)));
    const grown = mostResidentBytes(box.pid) - before;
    const heard = [...new Set(statuses)].join(', ');
    tell(`${CONNECTIONS} strangers send 8 MiB each to ${route}: memory grows by less than ${mb(MOST_GROWTH_BYTES)}`,
      `${mb(before)}, at most ${mb(before + grown)}; answered ${heard}`, grown < MOST_GROWTH_BYTES);
  }
  const { status } = await box.teacher.get('/api/class');
  tell('the teacher is answered afterwards', String(status), status === 200);
  await box.close();
}
