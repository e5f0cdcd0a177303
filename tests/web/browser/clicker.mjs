// A presenter's clicker, which is a keyboard, at a TV and at a board of the hall:
// next, freeze, and what whoever mashes it gets.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertNoErrors, card, picture, sentence } from './seen.mjs';

const out = path.join(stage.root, 'tests/out');
const LONG = { warm_up_s: 900, briefing_s: 900, work_s: 900, last_turn_s: 20, gather_s: 900, walk_s: 900, closing_s: 900 };
/** From the thumb going down to the card. */
const FROZEN_WITHIN_MS = stage.bound(1000, 4000);
/** After a change, and after the last press: src/core/rotation/clicker.rs. */
const QUIET_MS = 3200;

/** In the page: when a key went down, and when the freeze was on the glass. */
function watchFreeze() {
  document.addEventListener('keydown', (event) => {
    if (!event.repeat) window.downMs = performance.now();
  });
  const look = () => {
    const main = document.querySelector('main');
    const cover = document.querySelector('#card');
    const frozen = main && (cover ? !cover.hidden && cover.dataset.kind === 'freeze' : main.dataset.shows === 'freeze');
    if (!frozen) window.frozenMs = undefined;
    else if (window.frozenMs === undefined) window.frozenMs = performance.now();
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

function init() {
  return `(${watchFreeze})(); (${probe})();`;
}

async function gym(top) {
  const camera = await stage.startCamera();
  const stations = [1, 2].map((number) => ({ number, title: `Station ${number}`, delay_ms: 2000, url: camera.url, screen: 'approach_cm = 300' }));
  const units = `units_dir = "${path.join(stage.root, 'config/units')}"`;
  const { base } = await stage.startServer(stations, { top: `${top}\n${units}`, lesson: false });
  await stage.startClass(base, { times: LONG, grade: 3 });
  return base;
}

const open = (browser, url) => stage.openPage(browser, url, { init: { content: init() }, viewport: { width: 1280, height: 720 } });
const now = async (base) => (await stage.api(base, '/api/class')).body.class;
const phase = async (base) => (await now(base)).time.phase;
const frozen = (page) => page.evaluate(() => window.frozenMs !== undefined);

/** Holds a key as a thumb does: it repeats, thirty times a second, until it is let go. */
async function hold(page, key, ms) {
  const end = Date.now() + ms;
  await page.keyboard.down(key);
  await stage.sleep(500);
  while (Date.now() < end) {
    await page.keyboard.down(key);
    await stage.sleep(33);
  }
  await page.keyboard.up(key);
}

/** A long press that freezes; how long it took from the key going down. */
async function freeze(page, key) {
  await hold(page, key, 1500);
  await stage.until('it is frozen', () => frozen(page));
  return page.evaluate(() => window.frozenMs - window.downMs);
}

async function nextAndFreeze(browser) {
  const base = await gym('clicker = "class"');
  const tv = await open(browser, `${base}/tv/1`);
  const other = await open(browser, `${base}/tv/2`);
  const hall = await open(browser, `${base}/hall`);
  await picture(tv);
  await stage.sleep(QUIET_MS);
  await tv.keyboard.press('PageDown');
  await stage.until('the next phase on the TV', () => tv.evaluate(() => document.querySelector('main').dataset.scene === 'briefing'));
  await stage.sleep(QUIET_MS);
  await hall.keyboard.press('ArrowRight');
  await stage.until('and from the hall', async () => (await phase(base)) === 'work');
  await picture(tv);

  const took = [await freeze(tv, 'PageDown')];
  await stage.until('every screen says so', async () => (await frozen(other)) && frozen(hall));
  assert.equal(await card(tv), sentence('live-card-freeze'));
  await tv.screenshot({ path: path.join(out, 'clicker-freeze.png') });
  await hall.screenshot({ path: path.join(out, 'clicker-freeze-hall.png') });
  await tv.evaluate(() => { window.probe.length = 0; });
  await stage.sleep(1500);
  assert.deepEqual(await tv.evaluate(() => window.probe.filter((s) => !s.covered)), [], 'no picture meanwhile');
  // A short press, and another screen's long one, change nothing.
  await tv.keyboard.press('PageDown');
  await hold(other, 'PageDown', 1000);
  await stage.sleep(500);
  assert.deepEqual((await now(base)).holds, ['freeze']);
  await hold(tv, 'PageDown', 1000);
  await stage.until('it goes on', async () => (await now(base)).holds.length === 0);
  await picture(tv);
  assert.equal(await phase(base), 'work', 'where it was');
  took.push(await freeze(hall, 'ArrowDown'));
  console.log(`       frozen ${took.map((ms) => ms.toFixed(0)).join(' and ')} ms after the key went down`);
  assert.ok(Math.max(...took) <= FROZEN_WITHIN_MS, `${took} ms`);
  [tv, other, hall].forEach((page) => assertNoErrors(page));
}

/** A bored child. */
async function mashed(browser) {
  const base = await gym('clicker = "class"');
  const tv = await open(browser, `${base}/tv/1`);
  await picture(tv);
  await stage.sleep(QUIET_MS);
  const keys = ['PageDown', 'ArrowRight', 'PageDown', 'b', 'ArrowDown', ' ', '.', 'Enter', 'PageDown', 'Escape'];
  for (let i = 0, end = Date.now() + 12000; Date.now() < end; i += 1) {
    await tv.keyboard.press(keys[i % keys.length]);
    await stage.sleep(20 + (i * 37) % 150);
  }
  const { step, time, holds } = await now(base);
  assert.deepEqual([time.phase, holds], ['briefing', []], `one answer; step ${step}`);
  await stage.sleep(QUIET_MS);
  await tv.keyboard.press('PageDown');
  await stage.until('who waits is heard', async () => (await phase(base)) === 'work');
  assertNoErrors(tv);
}

async function notUnlessTheFileSaysSo(browser) {
  const base = await gym('');
  const pages = [await open(browser, `${base}/tv/1`), await open(browser, `${base}/hall`)];
  await picture(pages[0]);
  await stage.sleep(QUIET_MS);
  const before = (await now(base)).step;
  for (const page of pages) {
    await page.keyboard.press('PageDown');
    await hold(page, 'ArrowRight', 1200);
  }
  await stage.sleep(500);
  const { step, holds } = await now(base);
  assert.deepEqual([step, holds], [before, []]);
  pages.forEach((page) => assertNoErrors(page));
}

export const tests = [
  ['a clicker: next, freeze within a second, and on', nextAndFreeze],
  ['a clicker that is mashed moves the class once', mashed, 'a key that is mashed once more, and src/core/rotation/clicker.rs'],
  ['a clicker does nothing unless the config file says so', notUnlessTheFileSaysSo],
];
