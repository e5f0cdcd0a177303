// The TVs through a whole class: whose pictures are seen when, read off the strip
// in the picture; every phase photographed in both views and languages.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { ALL, axeFinds, out } from './photograph.mjs';
import { assertNoErrors, picture } from './seen.mjs';

/** The step of a strip, a refresh, and a page that is busy. */
const EDGE_MS = 250;
const UNIT_DIR = `units_dir = "${path.join(stage.root, 'config/units')}"`;

/** Stations of one gym, and a class that has not begun. */
async function gym(numbers, delay_ms) {
  const camera = await stage.startCamera();
  const stations = numbers.map((number) => ({ number, title: `Station ${number}`, delay_ms, window_ms: 60000, url: camera.url, screen: 'approach_cm = 300' }));
  return stage.startServer(stations, { top: UNIT_DIR, lesson: false });
}

async function choose(base, patch) {
  const { status } = await stage.api(base, '/api/showing', {
    method: 'PATCH', headers: { 'content-type': 'application/json' }, body: JSON.stringify(patch),
  });
  assert.equal(status, 200);
}

/** Which capture times were on the glass, and when. */
async function shown(page) {
  const seen = await page.evaluate(() => window.probe.slice());
  return seen.filter((s) => !s.covered && s.strip_ms !== null);
}

/** One change, with so much delay and so much time to change. */
async function oneChange(browser, delay_s, gather_s, walk_s) {
  const { base } = await gym([1, 2], delay_s * 1000);
  await choose(base, { grade: 4 });
  const work_s = 12;
  const after_s = delay_s + 4;
  const times = { warm_up_s: 2, briefing_s: 0, work_s: Math.max(work_s, after_s), last_turn_s: 3, gather_s, walk_s, closing_s: 5 };
  const { now } = await stage.startClass(base, { times });
  const page = await stage.openPage(browser, `${base}/tv/1?lang=en`, { init: probe });
  const works_ms = now.class.time.ends_us / 1000;
  const ends_ms = works_ms + times.work_s * 1000;
  const next_ms = ends_ms + (gather_s + walk_s) * 1000;
  await picture(page, delay_s * 1000 + 20000);
  await stage.sleep(next_ms + after_s * 1000 - Date.now());
  const all = await shown(page);
  const among = (from, to) => all.filter((s) => s.glass_ms >= from && s.glass_ms < to);

  // While the group that leaves gathers and walks, its own last attempts are seen.
  const last = among(ends_ms + EDGE_MS, Math.min(next_ms, ends_ms + delay_s * 1000) - EDGE_MS);
  assert.ok(last.length > 20, `${delay_s} s: ${last.length} pictures of the last attempts`);
  assert.ok(last.every((s) => s.strip_ms > works_ms - EDGE_MS && s.strip_ms < ends_ms + EDGE_MS), `${delay_s} s: they are its own`);
  const newest = Math.max(...last.map((s) => s.strip_ms));
  const due = Math.min(ends_ms, next_ms - delay_s * 1000);
  assert.ok(newest > due - 700, `${delay_s} s: to the last of them, ${newest - due} ms`);
  // Then the figure, for as long as the change takes.
  if (gather_s + walk_s > delay_s + 1) {
    assert.deepEqual(among(ends_ms + delay_s * 1000 + EDGE_MS, next_ms), [], `${delay_s} s: then it rests`);
  }
  // The next group is shown what it does itself, and nothing else.
  const next = among(next_ms + EDGE_MS, Infinity);
  assert.ok(next.length > 20, `${delay_s} s: ${next.length} pictures of the next group`);
  assert.deepEqual(next.filter((s) => s.strip_ms < next_ms - EDGE_MS), [], `${delay_s} s: nothing of the group before`);
  assertNoErrors(page);
  await page.context().close();
}

const change = (delay_s, gather_s, walk_s) => (browser) => oneChange(browser, delay_s, gather_s, walk_s);

/** What is said and cut off. */
async function cutOff(page, name) {
  const cut = await page.evaluate(() => [...document.querySelectorAll('#scene, #scene p, #hall, #hall li, #hall h1')]
    .filter((e) => e.getClientRects().length && getComputedStyle(e).clip === 'auto')
    .filter((e) => {
      const box = e.getBoundingClientRect();
      return e.scrollHeight > e.clientHeight + 2 && e.id === 'scene' || box.right > innerWidth + 1 || box.bottom > innerHeight + 1;
    }).map((e) => e.id || e.tagName));
  return cut.map((part) => `${name}: ${part} is cut off`);
}

/** Each phase and each wait, as a station's own TV and a board of the hall show it. */
async function everyState(browser) {
  const { base } = await gym([1, 2, 4], 2000);
  await choose(base, { grade: 4, choice: 'text' });
  const long = { warm_up_s: 900, briefing_s: 900, work_s: 900, last_turn_s: 890, gather_s: 900, walk_s: 900, closing_s: 900 };
  await stage.startClass(base, { times: long, children: 9 });
  const size = { viewport: { width: 1920, height: 1080 }, bypassCSP: true };
  const pages = {};
  const wrong = [];
  for (const lang of ['en', 'es']) {
    pages[`own-${lang}`] = await stage.openPage(browser, `${base}/tv/2?lang=${lang}`, size);
    pages[`hall-${lang}`] = await stage.openPage(browser, `${base}/hall?lang=${lang}`, size);
  }
  const photograph = async (state) => {
    for (const [turn, view] of ['text', 'picture'].entries()) {
      await choose(base, { choice: view });
      // One TV and one board in each view, each in the other's language, unless all are asked for.
      const mine = Object.entries(pages).filter((_, at) => ALL || [[1, 2], [0, 3]][turn].includes(at));
      for (const [name, page] of mine) {
        const full = `room-${name}-${view}-${state}`;
        await stage.until(full, () => page.evaluate((v) => document.querySelector('main').dataset.view === v, view));
        await stage.sleep(250);
        await page.screenshot({ path: path.join(out, `${full}.png`) });
        wrong.push(...await cutOff(page, full), ...(await axeFinds(page)).map((found) => `${full}: ${found}`));
      }
    }
    await choose(base, { choice: 'text' });
  };
  const now = async () => (await stage.api(base, '/api/class')).body.class;
  const next = async (phase) => {
    await stage.press(base, { press: 'next' });
    await stage.until(phase, async () => (await now()).time.phase === phase);
    await photograph(phase);
  };
  await stage.until('the first picture', () => pages['own-en'].evaluate(() => document.querySelector('#card').hidden));
  await photograph('warm_up');
  await next('briefing');
  await stage.press(base, { press: 'next' });
  await photograph('work');
  await stage.until('the last turn', async () => (await now()).time.phase === 'last_turn', { within_ms: 20000 });
  await photograph('last_turn');
  await stage.press(base, { press: 'cover_group', group: 2 });
  await photograph('covered');
  for (const hold of ['pause', 'freeze', 'accident', 'leave', 'dark']) {
    await stage.press(base, { press: 'hold', hold });
    await photograph(hold);
    await stage.press(base, { press: 'resume', hold });
  }
  await next('gather');
  assert.match(await pages['own-en'].innerText('#scene-reset'), /\S/, 'what has to be put right is said');
  await next('walk');
  assert.match(await pages['own-en'].innerText('#scene-heading'), /^Group 2: walk to 4\.$/);
  assert.match(await pages['hall-en'].innerText('#phase'), /^Everyone one on$/);
  await stage.press(base, { press: 'close', station: 2 });
  await stage.press(base, { press: 'next' });
  await photograph('closed');
  await stage.press(base, { press: 'next' });
  await photograph('gather-closed');
  await stage.press(base, { press: 'finish' });
  await photograph('closing');
  await stage.press(base, { press: 'end' });
  await photograph('over');
  assert.deepEqual(wrong, []);
  Object.values(pages).forEach((page) => assertNoErrors(page));
}

export const tests = [
  ['a change with 5 s of delay: last attempts for who leaves, none for who comes', change(5, 4, 6)],
  ['a change with 10 s of delay: last attempts for who leaves, none for who comes', change(10, 5, 8), 'the one of 5 s'],
  ['a change with 30 s of delay: last attempts for who leaves, none for who comes', change(30, 10, 24), 'the one of 5 s'],
  ['every state of a class on a TV of its own and on the board of the hall', everyState],
];
