// A whole class by itself: one TV with nobody at the remote, and several screens
// that have to change as one.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertNoErrors, card, sentence } from './seen.mjs';

const out = path.join(stage.root, 'tests/out');
/** The step of a strip, a refresh, and a page that is busy. */
const EDGE_MS = 250;

/** All screens change within this; five pages on two cores are no room with five screens. */
const APART_MS = stage.bound(150, 1000);
const TIMES = { warm_up_s: 3, briefing_s: 3, work_s: 6, last_turn_s: 2, gather_s: 3, walk_s: 3, closing_s: 3 };

/** In the page: when it changed to which phase. */
function phases() {
  window.phases = [];
  let last;
  const look = () => {
    const main = document.querySelector('main');
    const shows = main && (main.dataset.scene || main.dataset.shows);
    if (shows && shows !== last) {
      last = shows;
      window.phases.push([shows, performance.timeOrigin + performance.now()]);
    }
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

async function gym(count) {
  const camera = await stage.startCamera();
  const stations = Array.from({ length: count }, (_, i) => ({ number: i + 1, title: `Station ${i + 1}`, delay_ms: 2000, url: camera.url }));
  return stage.startServer(stations, { lesson: false, top: `units_dir = "${path.join(stage.root, 'config/units')}"` });
}

/** Starts a class on a phone, in the times of this test, and puts the phone away. */
async function startAndPutAway(browser, base) {
  const phone = await stage.openPage(browser, `${base}/remote`, { viewport: { width: 390, height: 844 } });
  await phone.route('**/api/class/start', (route) => {
    const { method, body } = { method: route.request().method(), body: route.request().postData() };
    return method === 'POST' ? route.continue({ postData: JSON.stringify({ ...JSON.parse(body), times: TIMES, camera_briefing: false }) }) : route.continue();
  });
  await phone.waitForSelector('#start-groups button');
  // Whoever sets a camera up before the class is told what to do first.
  await phone.click('.opened > summary');
  await phone.click('.setup > summary');
  await phone.click('.calibrate');
  const wanted = sentence('live-calibration-camera-off');
  await stage.until('start a class first', async () => (await phone.innerText('.calibration-said')) === wanted);
  await phone.screenshot({ path: path.join(out, 'remote-calibrate-no-class.png') });
  await phone.fill('#start-class', '3B');
  await phone.fill('#start-children', '8');
  await phone.press('#start-children', 'Tab');
  await phone.click('#start-times > summary');
  await phone.fill('#start-group-count', '2');
  await phone.press('#start-group-count', 'Tab');
  await phone.click('#start-all-shown');
  await phone.click('#start .go-button');
  await stage.until('the class runs', () => phone.isVisible('#presses'));
  const { time, groups } = (await stage.api(base, '/api/class')).body.class;
  assert.equal(groups.length, 2);
  assertNoErrors(phone);
  await phone.context().close();
  return time.ends_us / 1000 - TIMES.warm_up_s * 1000;
}

/** Colours along the edges of a covered picture that are not the card's. */
async function seenRoundTheCard(page) {
  const shot = (await page.screenshot()).toString('base64');
  return page.evaluate(async (png) => {
    const image = new Image();
    image.src = `data:image/png;base64,${png}`;
    await image.decode();
    const brush = new OffscreenCanvas(image.width, image.height).getContext('2d');
    brush.drawImage(image, 0, 0);
    const box = document.querySelector('#glass').getBoundingClientRect();
    const strips = [
      [box.left - 3, box.top, 6, box.height], [box.right - 3, box.top, 6, box.height],
      [box.left, box.top - 3, box.width, 6], [box.left, box.bottom - 3, box.width, 6],
    ];
    const others = new Set();
    for (const strip of strips) {
      const { data } = brush.getImageData(...strip.map(Math.round));
      for (let i = 0; i < data.length; i += 4) others.add(data.slice(i, i + 3).join());
    }
    others.delete('20,24,28');
    return [...others];
  }, shot);
}

/** From the first press to the end nobody touches anything. */
async function fromAPhoneThatIsPutAway(browser) {
  const { base } = await gym(1);
  const page = await stage.openPage(browser, `${base}/tv/1`, { init: { content: `(${phases})(); (${probe})();` } });
  await stage.until('no class, no picture', async () => (await card(page)) === sentence('live-camera-off'));
  const began_ms = await startAndPutAway(browser, base);
  // A class with a grade has the delay of its unit, which is longer than this class.
  await stage.api(base, '/api/stations/1', {
    method: 'PATCH', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ delay_ms: 2000 }),
  });
  const at = (s) => began_ms + s * 1000;
  await stage.sleep(at(16.5) - Date.now());
  await page.screenshot({ path: path.join(out, 'alone-walk.png') });
  assert.notEqual(await page.evaluate(() => document.querySelector('#card').hidden), true);
  assert.deepEqual(await seenRoundTheCard(page), [], 'the card covers the picture to its last pixel');
  await stage.until('the class is over by itself', () => over(base), { within_ms: 60000, every_ms: 100 });
  const over_ms = Date.now();
  await stage.until('and it says so', async () => (await card(page)) === sentence('live-camera-off'), { within_ms: 4000 });
  await stage.sleep(1500);
  const order = (await said(page)).map(([scene]) => scene);
  assert.deepEqual(order, ['turn', 'briefing', 'turn', 'gather', 'walk', 'turn', 'closing', 'turn']);
  // Warm-up to 3 s, briefing to 6, work to 12, gather to 15, walk to 18, work to 24, closing to 27.
  assert.ok(Math.abs(over_ms - at(27)) < 3000, `over after ${(over_ms - began_ms) / 1000} s`);
  const seen = (await page.evaluate(() => window.probe.slice())).filter((s) => !s.covered && s.strip_ms !== null);
  const on = (from_s, to_s) => seen.filter((s) => s.glass_ms > at(from_s) + EDGE_MS && s.glass_ms < at(to_s) - EDGE_MS);
  const taken = (list, from_s, to_s) => list.filter((s) => s.strip_ms > at(from_s) - EDGE_MS && s.strip_ms < at(to_s) + EDGE_MS);
  for (const [what, shown, from_s, to_s] of [['the first group', on(6, 18), 6, 12], ['the second', on(18, 27), 18, 24]]) {
    assert.ok(shown.length > 40, `${what}: ${shown.length} pictures`);
    assert.equal(taken(shown, from_s, to_s).length, shown.length, `${what} sees its own and nothing else`);
  }
  assert.deepEqual(seen.filter((s) => s.glass_ms > at(27) + 500), [], 'and nothing once it is over');
  const { newest_us, ring_bytes } = (await stage.api(base, '/api/stations/1')).body;
  assert.deepEqual([newest_us, ring_bytes], [null, 0]);
  assertNoErrors(page);
}

const said = (page) => page.evaluate(() => window.phases);
const over = async (base) => (await stage.api(base, '/api/class')).body.class === null;

async function aloneWithOneTv(browser) {
  const { base } = await gym(1);
  const page = await stage.openPage(browser, `${base}/tv/1`, { init: phases });
  // One station and two groups: each works once, the other rests.
  await stage.startClass(base, { times: TIMES, groups: 2, children: 8 });
  await stage.until('the class is over by itself', () => over(base), { within_ms: 60000, every_ms: 500 });
  await stage.sleep(700);
  const order = (await said(page)).map(([scene]) => scene);
  assert.deepEqual(order, ['turn', 'briefing', 'turn', 'gather', 'walk', 'turn', 'closing', 'turn']);
  assertNoErrors(page);
}

async function allAsOne(browser) {
  const { base } = await gym(3);
  const open = (where) => stage.openPage(browser, `${base}${where}`, { init: phases, viewport: { width: 960, height: 540 } });
  const tvs = [await open('/tv/1'), await open('/tv/2'), await open('/tv/3')];
  const hall = await open('/hall');
  const remote = await stage.openPage(browser, `${base}/remote`, { viewport: { width: 390, height: 844 } });
  await stage.startClass(base, { times: TIMES, groups: 3, children: 9 });
  await stage.until('the class is over', () => over(base), { within_ms: 90000, every_ms: 500 });
  await stage.sleep(700);
  const lists = [];
  for (const page of tvs) lists.push(await said(page));
  // The board has more phases than a TV has scenes: those that both have.
  const board = (await said(hall)).filter(([shows]) => shows === 'gather' || shows === 'walk' || shows === 'closing');
  let worst = 0;
  for (let i = 0; i < lists[0].length; i += 1) {
    if (i === 0) continue;
    const at = lists.map((list) => {
      assert.equal(list[i][0], lists[0][i][0], 'the same phases in the same order');
      return list[i][1];
    });
    const same = board.filter(([shows, ms]) => shows === lists[0][i][0] && Math.abs(ms - at[0]) < 2000).map(([, ms]) => ms);
    worst = Math.max(worst, Math.max(...at, ...same) - Math.min(...at, ...same));
  }
  assert.equal(board.length, 5, 'the board followed');
  assert.equal(lists[0].length, 11);
  console.log(`       ${lists[0].length - 1} changes on three TVs and a board: at most ${worst.toFixed(0)} ms apart`);
  assert.ok(worst <= APART_MS, `${worst} ms apart`);
  [...tvs, hall, remote].forEach((page) => assertNoErrors(page));
}

export const tests = [
  ['a whole class with one TV and nobody at the remote', aloneWithOneTv, 'the one started from a phone'],
  ['a whole class started from a phone that is put away', fromAPhoneThatIsPutAway],
  ['three TVs, a board and a remote change as one', allAsOne],
];
