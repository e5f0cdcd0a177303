// A whole class by itself: one TV with nobody at the remote, and several screens
// that have to change as one.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { assertNoErrors } from './seen.mjs';

/** All screens change within this of each other. */
const APART_MS = 150;
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
  ['a whole class with one TV and nobody at the remote', aloneWithOneTv],
  ['three TVs, a board and a remote change as one', allAsOne],
];
