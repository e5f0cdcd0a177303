// Measures how a screen comes through faults: the picture has to be back by
// itself within two seconds of good input, and the delay right within one more.
//
//   scripts/measure-faults [--rounds 3] [--only NAME] [--delay 2] [--tier b] [--judge]
//
// A picture is on the glass a delay after it was taken, so with a delay of D the
// first good one is due at good input + D, and counts from then; what was taken
// before the fault is due all the while, and has to be shown. After a restart of
// the server its ring is empty: there the first new picture in it counts.

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { probe } from './probe.mjs';
import { faultFigures, median } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    rounds: { type: 'string', default: '3' },
    only: { type: 'string', default: '' },
    delay: { type: 'string', default: '2' },
    tier: { type: 'string', default: '' },
    judge: { type: 'boolean', default: false },
  },
});
const rounds = Number(options.rounds);
const delay_ms = Number(options.delay) * 1000;

const BACK_MS = 2000;
const RIGHT_MS = 1000;
/** Of what was taken before a fault, the last may still be on its way. */
const CUT_MS = 500;
/** Watched for so long after the picture has to be back and right. */
const WATCH_MS = 3000;
/** From one fault to the next, all that follows it included. */
const ROUND_S = (delay_ms + BACK_MS + RIGHT_MS + WATCH_MS) / 1000 + 2;
/** The first one, when the late picture has stood for a while. */
const FIRST_S = delay_ms / 1000 + 6;

/**
 * Quirks that make a fault again and again, at moments so long after a keyframe:
 * the test camera has one each second.
 */
function everyRound(quirk, after_keyframe_s) {
  return Array.from({ length: rounds }, (_, i) => Math.ceil(FIRST_S + i * ROUND_S) + after_keyframe_s)
    .flatMap((at_s) => ['--quirk', quirk(at_s)]);
}

/** Waits until the camera says that its habit has begun and is over for the nth time. */
async function said(camera, name, round) {
  const found = await stage.until(`the camera's ${name}`, () => {
    const times = (what) => [...camera.child.said.matchAll(new RegExp(`quirk ${name} ${what} (\\d+)`, 'g'))];
    const [begins, over] = [times('begins')[round], times('over')[round]];
    return begins && over && [Number(begins[1]), Number(over[1])];
  }, { within_ms: (FIRST_S + ROUND_S) * 1000 + 20000, every_ms: 10 });
  return { fault_ms: found[0], good_ms: found[1] };
}

/** A fault the camera makes itself. */
function quirk(name, write, after_keyframe_s) {
  return { args: () => everyRound(write, after_keyframe_s), make: (set, round) => said(set.camera, name, round) };
}

/** A fault that sets in, lasts, and is over when `mend` has returned. */
function from(make, lasts_ms, mend) {
  return {
    args: () => [],
    make: async (set) => {
      const fault_ms = Date.now();
      await make(set);
      await stage.sleep(lasts_ms);
      await mend(set);
      return { fault_ms, good_ms: Date.now() };
    },
  };
}

const stop = (set) => { set.camera.child.kill('SIGSTOP'); };
const go = (set) => { set.camera.child.kill('SIGCONT'); };
const kill = (set) => stage.end(set.camera.child, 'SIGKILL');
const startAgain = async (set) => { set.camera = await stage.startCamera(set.camera.port); };
const killServer = (set) => stage.end(set.server.child, 'SIGKILL');
const startServerAgain = async (set) => {
  set.server = await stage.startServer(set.stations, { port: set.server.port, folder: set.server.folder });
};

const FAULTS = {
  'loss of 0.3 s': quirk('drop', (s) => `drop=${s}-${s + 0.3}`, 0.4),
  'loss with a keyframe': quirk('drop', (s) => `drop=${s}-${s + 1.2}`, 0.4),
  'stall of 4 s': from(stop, 4000, go),
  'stall of 15 s': from(stop, 15000, go),
  'restart of the camera': from(kill, 4000, startAgain),
  'step back of 50 ms': quirk('back-step', (s) => `back-step=50@${s}`, 0.4),
  'step back of 2 s': quirk('back-step', (s) => `back-step=2000@${s}`, 0.4),
  'new parameter sets': quirk('size-change', (s) => `size-change@${s}`, 0.4),
  "camera's clock set by an hour": quirk('forward-step', (s) => `forward-step=3600000@${s}`, 0.4),
  "screen's clock set by an hour": from((set) => set.page.evaluate(() => window.setClock()), 0, () => {}),
  'restart of the server': { ...from(killServer, 2000, startServerAgain), emptied: true },
};

/** The screen's own clock is an hour slow until it is set. */
function slowClock() {
  let behind_ms = 3600000;
  window.setClock = () => { behind_ms = behind_ms ? 0 : 3600000; };
  const RealDate = Date;
  const now = () => RealDate.now() - behind_ms;
  window.Date = class extends RealDate {
    constructor(...args) { if (args.length) super(...args); else super(now()); }
    static now() { return now(); }
  };
}

/** Waits until the late picture stands. */
function stands(page) {
  return stage.until('a late picture that stands', () => page.evaluate((ms) => {
    const lately = window.probe.slice(-60);
    const off = lately.filter((s) => s.covered || Math.abs(s.glass_ms - s.stamp_ms - ms) > 34);
    return lately.length === 60 && off.length <= 3;
  }, delay_ms), { within_ms: delay_ms + 30000 });
}

/** How long after good input a new picture is in the ring, and when the oldest there was taken. */
async function inTheRing(set, good_ms) {
  return stage.until('a new picture in the ring', async () => {
    const body = await stage.api(set.server.base, '/api/stations/1').then((reply) => reply.body, () => null);
    const there = body && body.newest_us / 1000 > good_ms;
    return there && { ring_ms: Date.now() - good_ms, oldest_ms: body.oldest_us / 1000 };
  }, { within_ms: 30000, every_ms: 20 });
}

async function round(fault, set, number) {
  await stands(set.page);
  await set.page.evaluate(() => { window.probe.splice(0, window.probe.length - 60); });
  const { fault_ms, good_ms } = await fault.make(set, number);
  const { ring_ms, oldest_ms } = await inTheRing(set, good_ms);
  const counts_ms = fault.emptied ? Math.max(good_ms, oldest_ms) : good_ms;
  const until_ms = counts_ms + delay_ms + BACK_MS + RIGHT_MS + WATCH_MS;
  await stage.sleep(until_ms - Date.now());
  const seen = await set.page.evaluate(() => window.probe.slice());
  return { ring_ms, ...faultFigures(seen, { fault_ms, good_ms: counts_ms, delay_ms }) };
}

const failures = [];
function judge(name, rows, key, most) {
  const worst = Math.max(...rows.map((row) => row[key]));
  if (!(worst <= most)) failures.push(`${name}: ${key} ${worst.toFixed(0)} > ${most}`);
}

async function measure(name) {
  const fault = FAULTS[name];
  const set = { camera: await stage.startCamera(0, fault.args()) };
  set.stations = [{ number: 1, title: 'Low beam', delay_ms, url: set.camera.url }];
  set.server = await stage.startServer(set.stations);
  const browser = await stage.openBrowser();
  const url = `${set.server.base}/tv/1${options.tier ? `?tier=${options.tier}` : ''}`;
  const init = { content: `(${slowClock})(); (${probe})();` };
  set.page = await stage.openPage(browser, url, { init });
  const rows = [];
  for (let number = 0; number < rounds; number += 1) {
    const row = await round(fault, set, number).catch((error) => {
      failures.push(`${name}: ${error.message}`);
      return { ring_ms: NaN, cut_ms: NaN, held_ms: NaN, back_ms: NaN, right_ms: NaN };
    });
    rows.push(row);
  }
  const errors = set.page.errors.filter((error) => !(fault.emptied && /WebSocket connection|ERR_CONNECTION_REFUSED/.test(error)));
  if (errors.length) failures.push(`${name}: ${errors}`);
  await browser.close();
  await stage.endAll();

  const cells = ['ring_ms', 'back_ms', 'right_ms', 'cut_ms', 'held_ms'].map((key) => {
    const all = rows.map((row) => row[key]);
    return `${median(all).toFixed(0)} / ${Math.max(...all).toFixed(0)}`.padStart(14);
  });
  console.log(`${name.padEnd(30)}${cells.join('')}`);
  judge(name, rows, 'ring_ms', BACK_MS);
  judge(name, rows, 'back_ms', BACK_MS);
  judge(name, rows, 'right_ms', RIGHT_MS);
  // A screen that hears nothing of its server covers itself.
  if (!fault.emptied) judge(name, rows, 'cut_ms', CUT_MS);
}

const names = Object.keys(FAULTS).filter((name) => name.includes(options.only));
if (!names.length) throw new Error(`no fault is called ${options.only}; there are: ${Object.keys(FAULTS).join(', ')}`);
console.log(`delay ${delay_ms / 1000} s, ${rounds} rounds${options.tier ? `, tier ${options.tier}` : ''}; median / worst in ms`);
console.log('ring: good input → new picture in the ring; back: due → on the glass; right: from then until the delay is right;');
console.log('cut: not shown of what was taken before the fault; held: the longest one of those stood\n');
console.log(`${'fault'.padEnd(30)}${['ring', 'back', 'right', 'cut', 'held'].map((h) => h.padStart(14)).join('')}`);
try {
  for (const name of names) await measure(name);
} finally {
  await stage.endAll();
}
console.log(failures.length ? `\nnot held:\n  ${failures.join('\n  ')}` : '\nall figures held');
process.exit(options.judge && failures.length ? 1 : 0);
