// Measures how exactly pictures are hidden: at random moments a wipe or a
// "don't show" is ordered, and the time drawn into each picture says whether one
// was on a glass that should not have been.
//
//   scripts/measure-hiding [--moments 200] [--delay 2] [--seed 1] [--judge]
//
// Two screens: one near at hand, and one whose line stalls at a random moment
// around the order, for a random while, without either side being told.

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { probe } from './probe.mjs';
import { glass, lastSeen } from './glass.mjs';
import { startGoBetween } from './go-between.mjs';
import { quantile, randomFrom } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    moments: { type: 'string', default: '200' },
    delay: { type: 'string', default: '2' },
    seed: { type: 'string', default: String(Date.now() % 100000) },
    judge: { type: 'boolean', default: false },
  },
});
const delay_ms = Number(options.delay) * 1000;
const random = randomFrom(Number(options.seed));
const between = (from, to) => from + random() * (to - from);

/** The camera's own picture may be this long on its way to us when an order comes. */
const TRANSIT_MS = 60;
/** What must hold: nobody is told anything in no time at all. */
const BOUNDS_MS = {
  wipe: { near: 500, stalled: 500 },
  dont_show: { near: 150, stalled: 500 },
};

function order(base, name) {
  return stage.api(base, '/api/stations/1/orders', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ order: name }),
  });
}

const seesAgain = (page) => stage.until('the picture is back', () => page.evaluate(() => {
  const last = window.glass[window.glass.length - 1];
  return last && last.strip_ms !== null && performance.timeOrigin + performance.now() - last.at_ms < 300;
}), { within_ms: 30000 });

async function moment(name, base, pages, line) {
  await Promise.all(Object.values(pages).map((page) => page.evaluate(() => {
    window.glass.splice(0, window.glass.length - 1);
    window.probe.splice(0, window.probe.length - 1);
  })));
  await stage.sleep(between(200, 1500));
  const lead_ms = between(-100, 1500);
  const stall_ms = between(300, 4000);
  const stalled = stage.sleep(Math.max(0, -lead_ms)).then(() => {
    line.stall();
    return stage.sleep(stall_ms).then(() => line.run());
  });
  await stage.sleep(Math.max(0, lead_ms));
  const asked_ms = Date.now();
  await order(base, name);
  const done_ms = Date.now();
  await stalled;
  await stage.sleep(delay_ms + 500);
  await Promise.all(Object.values(pages).map(seesAgain));
  const from_ms = name === 'wipe' ? 0 : done_ms - delay_ms;
  const forbidden = (strip_ms) => strip_ms > from_ms && strip_ms < asked_ms - TRANSIT_MS;
  const late = {};
  for (const [which, page] of Object.entries(pages)) {
    const record = await page.evaluate(() => window.glass.slice());
    late[which] = lastSeen(record, forbidden, Date.now()) - done_ms;
  }
  return late;
}

function report(name, which, all) {
  const seen = all.filter((ms) => ms > 0);
  const worst = Math.max(0, ...all);
  const shown = seen.length ? `median ${quantile(seen, 0.5).toFixed(0)}, p95 ${quantile(seen, 0.95).toFixed(0)}, ` : '';
  console.log(`${name.padEnd(10)} ${which.padEnd(8)} ${String(all.length).padStart(4)} moments; last forbidden picture on the glass `
    + `after the order, ms: ${shown}worst ${worst.toFixed(0)} (bound ${BOUNDS_MS[name][which]})`);
  return worst <= BOUNDS_MS[name][which];
}

async function main() {
  const camera = await stage.startCamera(0, ['--size', '640x360']);
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms, url: camera.url }]);
  const line = await startGoBetween(server.port);
  const init = { content: `(${probe})(); (${glass})();` };
  const pages = {};
  for (const [which, base] of [['near', server.base], ['stalled', line.base]]) {
    const browser = await stage.openBrowser();
    pages[which] = await stage.openPage(browser, `${base}/tv/1`, { init });
  }
  await Promise.all(Object.values(pages).map(seesAgain));
  const late = { wipe: { near: [], stalled: [] }, dont_show: { near: [], stalled: [] } };
  console.log(`seed ${options.seed}`);
  for (let i = 0; i < Number(options.moments); i += 1) {
    const name = random() < 0.5 ? 'wipe' : 'dont_show';
    const one = await moment(name, server.base, pages, line);
    for (const which of ['near', 'stalled']) late[name][which].push(one[which]);
  }
  const held = Object.entries(late).flatMap(([name, by]) => Object.entries(by).map(([which, all]) => report(name, which, all)));
  console.log(held.every(Boolean) ? '\nall bounds held' : '\nNOT HELD');
  await Promise.all(Object.values(pages).map((page) => page.context().browser().close()));
  line.end();
  await stage.endAll();
  process.exit(options.judge && !held.every(Boolean) ? 1 : 0);
}

await main();
