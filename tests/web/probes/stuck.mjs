// Lines that are opened and then not used: as many as the box takes from the
// network, and more.

import net from 'node:net';
import * as stage from '../stage.mjs';
import { forgetMost, mostResidentBytes, residentBytes, socketsOf } from '../process.mjs';
import { Box, SETTLES_MS, start } from './box.mjs';
import { done, line } from './client.mjs';
import { at } from './network.mjs';
import { Screen, handshake, now_ms, say } from './screen.mjs';

/** Thirteen devices with as many lines as one may have. */
const DEVICES = 13;
const OF_ONE = 32;
/** The longest deadline there is, for who reads nothing, and a little. */
const GETS_IN_MS = 30000;
const CLOSED_MS = 45000;
/** For each what a line may cost (tests/watchers), and slack for the allocator. */
const MOST_GROWTH_BYTES = DEVICES * OF_ONE * 320 * 1024 + 16e6;
const mb = (bytes) => `${(bytes / 1e6).toFixed(0)} MB`;

/** Ways to be stuck; each gives the line it holds. */
const KINDS = {
  /** A screen that asks for pictures and never reads. */
  async screen(box, from) {
    const socket = await line(box, from);
    socket.pause();
    socket.write(handshake(box, box.shown, box.screens.get(box.shown).cookie()));
    await stage.sleep(300);
    say(socket, { type: 'want', from_us: null });
    return socket;
  },
  /** Encrypted, and then silent. */
  silent: (box, from) => line(box, from),
  /** Half a head. */
  async head(box, from) {
    const socket = await line(box, from);
    socket.write(`GET /sign-in HTTP/1.1\r\nhost: ${box.address}:${box.port}\r\naccept: text/`);
    return socket;
  },
  /** Asks for more than the system holds, and never reads. */
  async answers(box, from) {
    const socket = await line(box, from);
    socket.pause();
    const one = `GET ${box.largest} HTTP/1.1\r\nhost: ${box.address}:${box.port}\r\n\r\n`;
    socket.write(one.repeat(100));
    return socket;
  },
  /** Not even encrypted. */
  bare: (box, localAddress) => new Promise((resolve, reject) => {
    const socket = net.connect({ host: box.address, port: box.port, localAddress });
    socket.on('error', () => {});
    socket.once('connect', () => resolve(socket));
    socket.once('error', reject);
  }),
};

/** The largest thing strangers may fetch, by the pages that say so. */
async function largest(box) {
  const page = (await box.teacher.page('/sign-in')).text + (await box.teacher.page('/pair')).text + (await box.teacher.page('/remote')).text;
  const all = [...new Set([...page.matchAll(/(?:src|href)="(\/assets\/[^"]+)"/g)].map(([, file]) => file))];
  const sizes = await Promise.all(all.map(async (file) => [file, (await box.teacher.get(file)).bytes.length]));
  return sizes.sort((a, b) => b[1] - a[1])[0][0];
}

export async function stuck(tell) {
  const box = await Box.open({ pictures: true });
  await done(box.teacher.json('/api/class/start', start()));
  const { class: running } = await box.class();
  box.shown = running.groups.find((group) => !group.covered).station;
  box.largest = await largest(box);
  await stage.sleep(SETTLES_MS + 2000);
  box.teacher.close();
  await stage.sleep(500);
  const [before, sockets] = [residentBytes(box.pid), socketsOf(box.pid)];
  forgetMost(box.pid);
  const kinds = Object.keys(KINDS);
  const wanted = Array.from({ length: DEVICES * OF_ONE }, (_, i) => [kinds[i % kinds.length], at(5, 1 + Math.floor(i / OF_ONE))]);
  const began_ms = now_ms();
  const opened = await Promise.allSettled(wanted.map(([kind, from]) => KINDS[kind](box, from)));
  const held = opened.filter(({ status }) => status === 'fulfilled').map(({ value }) => value);

  // A TV that was just switched on, which tries again every second, as its page does.
  let screen = null;
  while (screen === null && now_ms() - began_ms < CLOSED_MS) {
    screen = await Screen.open(box.screens.get(box.shown), box.shown, { within_ms: 3000 }).catch(() => null);
    if (screen === null) await stage.sleep(1000);
  }
  const inAfter_ms = now_ms() - began_ms;
  if (screen) await stage.until('a picture', () => screen.pictures.length > 0 || screen.over, { within_ms: 10000 }).catch(() => {});
  const picture_ms = screen && screen.pictures.length > 0 ? screen.pictures[0].at_ms - began_ms : Infinity;
  tell(`${held.length} of ${wanted.length} stuck lines are held: a TV gets in, and its picture, within ${GETS_IN_MS / 1000} s`,
    `in after ${(inAfter_ms / 1000).toFixed(1)} s, its first picture after ${(picture_ms / 1000).toFixed(1)} s`, picture_ms <= GETS_IN_MS);
  while (now_ms() - began_ms < CLOSED_MS) await stage.sleep(250);
  const left = socketsOf(box.pid) - sockets - (screen && !screen.over ? 1 : 0);
  tell(`after ${CLOSED_MS / 1000} s the box has closed every stuck line`, `${Math.max(left, 0)} are open still`, left <= 2);
  const grown = mostResidentBytes(box.pid) - before;
  tell(`memory grows by less than ${mb(MOST_GROWTH_BYTES)} for them`, `by ${mb(grown)}`, grown < MOST_GROWTH_BYTES);
  if (screen) screen.close();
  held.forEach((socket) => socket.destroy());
  await box.close();
}
