// A box on this machine as a school has it: HTTPS, a passphrase, a PIN, screens
// that were let in, a list of twelve invented children of whom one is not to be
// seen, and a class. Driven over HTTPS alone.
//
// Not here: any expectation.

import { mkdtempSync, rmSync, writeFileSync, readdirSync, existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { Client, done } from './client.mjs';
import { BOXES, at } from './network.mjs';

export const PASSPHRASE = 'low beam, wide mat';
export const PIN = '482913';
export const TITLE = '3 Green';
/** The group of the child whose family said no. */
export const REFUSED_GROUP = 2;
export const GROUPS = 3;

/** Work begins at once and does not end by itself; everybody is there six seconds later. */
export const TIMES = { warm_up_s: 0, briefing_s: 0, work_s: 3600, last_turn_s: 20, gather_s: 2, walk_s: 1, closing_s: 0 };
/** A walk, and five seconds for stragglers. */
export const SETTLES_MS = 6000;

/** Invented, four to a group. */
const CHILDREN = ['Abo', 'Bel', 'Cyn', 'Dov', 'Eda', 'Fen', 'Gil', 'Hane', 'Ivo', 'Jun', 'Kip', 'Lue'];
const FAMILY = 'Canaryfield';

const PORT = 8443;
let boxes = 0;

/** An address of its own for each box; of each run too, where runs share a network. */
function address() {
  boxes += 1;
  return at(BOXES + (process.pid % (256 - BOXES)), boxes);
}

/**
 * What makes programs see another date (libfaketime); the clocks that only run are
 * left alone. It takes a program that asks the C library (`scripts/probe-doors`).
 */
function fakeClock(folder) {
  const libraries = ['/usr/lib', '/usr/lib64'].filter(existsSync).flatMap((root) => [
    path.join(root, 'faketime'),
    ...readdirSync(root).map((name) => path.join(root, name, 'faketime')),
  ]);
  const file = libraries.map((place) => path.join(place, 'libfaketimeMT.so.1')).find((name) => existsSync(name));
  if (!file) throw new Error('libfaketime is missing: apt-get install libfaketime');
  const date = path.join(folder, 'date');
  return {
    date,
    env: {
      LD_PRELOAD: file, FAKETIME_TIMESTAMP_FILE: date, FAKETIME_CACHE_DURATION: '1',
      FAKETIME_DONT_FAKE_MONOTONIC: '1', DONT_FAKE_MONOTONIC: '1',
    },
  };
}

/** A class, as a remote starts it. */
export const start = (change = {}) => ({
  id: `start-${Math.random()}`, class: TITLE, children: 12, ticked: [1, 2, 3], times: TIMES, anew: true, ...change,
});

export class Box {
  /** Starts a camera if pictures are wanted, and the server; sets it up. */
  static async open({ pictures = false, dated = false, delay_ms = 1000 } = {}) {
    const box = new Box();
    box.folder = mkdtempSync(path.join(tmpdir(), 'afterturn-probe-'));
    box.address = address();
    box.port = PORT;
    box.base = `https://${box.address}:${PORT}`;
    box.clock = dated ? fakeClock(mkdtempSync(path.join(tmpdir(), 'afterturn-probe-'))) : null;
    if (box.clock) box.setDate(0);
    if (pictures) box.camera = await stage.startCamera(0, ['--size', '320x180', '--bitrate-kbps', '500']);
    const url = box.camera ? box.camera.url : 'rtsp://127.0.0.1:9/nobody';
    const stations = [1, 2, 3].map((number) => `[[station]]\nnumber = ${number}\ntitle = "Station ${number}"\n`
      + `delay_ms = ${delay_ms}\nwindow_ms = 20000\n[station.camera]\nkind = "network"\nurl = "${url}"\nlatency_ms = 0\n`);
    const own = `listen = "127.0.0.1:8460"\nstate_dir = "${box.folder}"\nthis_machine = "sign-in"\n`
      + `[https]\nlisten = "${box.address}:${PORT}"\n`;
    writeFileSync(path.join(box.folder, 'afterturn.toml'), own + stations.join(''));
    await box.begin();
    await box.setUp();
    return box;
  }

  /** What the wall clock says from now on, in days from the truth. */
  setDate(days) {
    writeFileSync(this.clock.date, `${days < 0 ? '-' : '+'}${Math.abs(days) * 86400}`);
  }

  async begin() {
    const name = this.clock ? 'afterturn-dated' : 'afterturn';
    const program = path.join(stage.root, 'target', process.env.AFTERTURN_PROFILE || 'debug', name);
    const args = ['serve', '--config', path.join(this.folder, 'afterturn.toml'), '--port', '0'];
    const { child, match } = await stage.startFile(program, args, /serving at (http:\/\/127\.0\.0\.1:\d+)\//, this.clock?.env);
    [this.child, this.here] = [child, match[1]];
    await stage.until('HTTPS is served', () => /fingerprint: [0-9A-F:]{95}/.test(child.said) || /stays off/.test(child.said));
    this.ca = await (await fetch(`${this.here}/trust/afterturn.pem`)).text();
  }

  get pid() {
    return this.child.pid;
  }

  /** Ended and started again; sessions last, the list is locked. */
  async again(signal = 'SIGTERM', meanwhile = async () => {}) {
    await stage.end(this.child, signal);
    await meanwhile();
    await this.begin();
    // Lines to a program that is gone are no use.
    for (const client of [this.teacher, this.helper, ...this.screens.values()].filter(Boolean)) {
      client.close();
      client.connect();
    }
  }

  async setUp() {
    this.teacher = new Client(this, at(1, 1));
    this.screens = new Map();
    const [, code] = await stage.until('the code on the console', () => /type this code: (\w+)/.exec(this.child.said));
    await done(this.teacher.form('/sign-in', { code, passphrase: PASSPHRASE, again: PASSPHRASE }));
    await done(this.teacher.form('/screens', { do: 'set-pin', pin: PIN }));
    for (const station of [1, 2, 3]) this.screens.set(station, await this.letIn(at(1, 10 + station), { station: String(station) }));
    await this.makeList();
  }

  /** A device that waits is let in, as the teacher does. */
  async letIn(from, as) {
    const device = new Client(this, from);
    const { code } = JSON.parse((await device.json('/api/pairing', {})).text);
    await done(this.teacher.form('/screens', { do: 'let-in', code, ...as }));
    const { state } = JSON.parse((await device.get('/api/pairing')).text);
    if (state !== 'approved') throw new Error(`a device was not let in: ${state}`);
    return device;
  }

  async signIn(from, secret) {
    const client = new Client(this, from);
    const reply = await client.form('/sign-in', secret);
    return { client, reply };
  }

  async signInHelper() {
    this.helper = (await this.signIn(at(1, 2), { pin: PIN })).client;
    return this.helper;
  }

  async makeList() {
    await done(this.teacher.form('/roster', { do: 'choose', rule: 'opt-out' }));
    await done(this.teacher.form('/roster', { do: 'add-class', title: TITLE }));
    const [, klass] = /"(\/roster\/classes\/\w+)"/.exec((await this.teacher.page('/roster')).text);
    for (const [at, given] of CHILDREN.entries()) {
      await done(this.teacher.form(klass, { do: 'add-child', given, family: FAMILY, group: String(1 + Math.floor(at / 4)) }));
    }
    const page = (await this.teacher.page(klass)).text;
    this.children = CHILDREN.map((given) => new RegExp(`"(/roster/children/\\w+)">${given}`).exec(page)[1]);
    await done(this.answer(this.of(REFUSED_GROUP)[0], 'no'));
  }

  /** The pages of a group's children. */
  of(group) {
    return this.children.slice((group - 1) * 4, group * 4);
  }

  /** The day the box believes it is: what its form for an answer begins with. */
  async today() {
    const found = /name="from"[^>]*value="(\d{4}-\d\d-\d\d)"/.exec((await this.teacher.page(this.children[0])).text);
    return found && found[1];
  }

  /** Writes down what a family says about the TV; since when is what the form offers. */
  async answer(child, answer) {
    const found = /name="from"[^>]*value="(\d{4}-\d\d-\d\d)"/.exec((await this.teacher.page(child)).text);
    const from = found ? found[1] : new Date().toISOString().slice(0, 10);
    return this.teacher.form(child, { do: 'record', kind: 'seen', answer, from, until: '', recorder: 'Ms Hall' });
  }

  unlock() {
    return this.teacher.form('/roster', { do: 'unlock', 'passphrase-now': PASSPHRASE });
  }

  lock() {
    return this.teacher.form('/roster', { do: 'lock' });
  }

  async class(who = this.teacher) {
    return JSON.parse((await who.get('/api/class')).text);
  }

  async endClass() {
    await this.teacher.json('/api/class/presses', { id: `end-${Math.random()}`, press: { press: 'end' } });
    await stage.until('the class is over', async () => (await this.class()).class === null);
  }

  async close() {
    await stage.end(this.child, 'SIGKILL');
    if (this.camera) await stage.end(this.camera.child, 'SIGKILL');
    for (const client of [this.teacher, this.helper, ...this.screens.values()].filter(Boolean)) client.close();
    rmSync(this.folder, { recursive: true });
    if (this.clock) rmSync(path.dirname(this.clock.date), { recursive: true });
  }
}
