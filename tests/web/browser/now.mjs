// The small picture of what a camera sees now, on the remote: only while somebody
// looks, and never what the screens may not show.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { assertNoErrors, sentence } from './seen.mjs';

const out = path.join(stage.root, 'tests/out');
/** From an order to the last picture it forbids: the remote asks five times a second. */
const WITHIN_MS = stage.bound(500, 1000);
/** A keyframe a second, what it takes to come and be made, and a machine that is busy. */
const NOW_MS = 4000;

/** The time in the picture's strip; `null` where there is no picture. */
function strip(page) {
  return page.evaluate(async () => {
    const img = document.querySelector('.opened[open] .now img');
    if (!img || img.hidden || !img.src) return null;
    await img.decode();
    const cells = 48;
    const canvas = new OffscreenCanvas(cells * 2, 1);
    const brush = canvas.getContext('2d');
    const rows = img.naturalHeight / 45;
    brush.imageSmoothingEnabled = false;
    brush.drawImage(img, 0, rows / 4, img.naturalWidth, rows / 2, 0, 0, cells * 2, 1);
    const { data } = brush.getImageData(0, 0, cells * 2, 1);
    let ms = 0;
    for (let cell = 4; cell < 46; cell += 1) ms = ms * 2 + (data[(cell * 2 + 1) * 4 + 1] > 127 ? 1 : 0);
    return ms;
  });
}

const there = (page) => page.isVisible('.opened[open] .now img');

async function aPictureOfNow(browser) {
  const cameras = [await stage.startCamera(), await stage.startCamera()];
  const server = await stage.startServer(cameras.map(({ url }, i) => ({
    number: i + 1, title: `Station ${i + 1}`, delay_ms: 10000, url,
  })));
  const remote = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  let asked = 0;
  remote.on('request', (request) => { asked += /\/still$/.test(request.url()) ? 1 : 0; });
  const opened = remote.locator('[data-number="1"] .opened > summary');
  await stage.until('the class is there', () => remote.isVisible('#presses'));
  await stage.sleep(1500);
  assert.equal(asked, 0, 'nobody looks');
  await opened.click();
  await stage.until('a picture', () => there(remote));
  const first = await strip(remote);
  assert.ok(Math.abs(Date.now() - first) < NOW_MS, `${Date.now() - first} ms old: not late`);
  await stage.until('another', async () => (await strip(remote)) > first);
  await remote.screenshot({ path: path.join(out, 'remote-now.png') });

  const order = (what) => stage.postJson(server.base, '/api/stations/1/orders', { order: what });
  const press = (what) => stage.press(server.base, what);
  const hides = [
    ['pause', () => order('pause'), () => order('resume')],
    ['cover', () => order('cover_from_now'), () => order('uncover')],
    ['freeze', () => press({ press: 'hold', hold: 'freeze' }), () => press({ press: 'resume', hold: 'freeze' })],
    ['accident', () => press({ press: 'hold', hold: 'accident' }), () => press({ press: 'resume', hold: 'accident' })],
  ];
  for (const [name, hide, show] of hides) {
    await hide();
    const asked_ms = Date.now();
    // What was taken before a cover may be seen; the first picture taken after it may not.
    const within_ms = name === 'cover' ? NOW_MS : WITHIN_MS + 1000;
    await stage.until(name, async () => !(await there(remote)), { within_ms, every_ms: 10 });
    const took = Date.now() - asked_ms;
    if (name !== 'cover') assert.ok(took <= WITHIN_MS, `${name}: gone after ${took} ms`);
    assert.equal(await remote.innerText('.opened[open] .now-none'), sentence('remote-now-none'));
    await stage.sleep(1500);
    assert.equal(await there(remote), false, `${name}: and stays away`);
    await show();
    await stage.until(`after ${name}`, () => there(remote), { within_ms: 20000 });
  }
  // What is forgotten is not to be seen; what is taken afterwards is.
  await order('wipe');
  const wiped_ms = Date.now();
  await stage.until('what was taken is gone', async () => {
    const taken = await strip(remote);
    return taken === null || taken > wiped_ms;
  }, { within_ms: WITHIN_MS + 200, every_ms: 20 });

  // Nobody looks any more.
  await opened.click();
  await stage.sleep(700);
  const before = asked;
  await stage.sleep(1500);
  assert.equal(asked, before, 'and nobody asks');
  assert.equal(await remote.getAttribute('[data-number="1"] .now img', 'src'), null, 'nor is anything kept');

  // A box that does not answer vouches for nothing.
  await opened.click();
  await stage.until('a picture again', () => there(remote));
  await remote.context().setOffline(true);
  await stage.until('it goes', async () => !(await there(remote)), { within_ms: 4000 });
  await remote.context().setOffline(false);
  assertNoErrors(remote, /ERR_INTERNET_DISCONNECTED/);
}

async function aCoveredGroup(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }], { lesson: false });
  const times = { warm_up_s: 0, briefing_s: 0, work_s: 600, last_turn_s: 20, gather_s: 10, walk_s: 20, closing_s: 10 };
  await stage.startClass(server.base, { times, groups: 1, children: 6 });
  const remote = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  await remote.locator('.opened > summary').click();
  await stage.until('a picture', () => there(remote));
  await stage.press(server.base, { press: 'cover_group', group: 1 });
  const pressed_ms = Date.now();
  await stage.until('it is gone', async () => !(await there(remote)), { within_ms: WITHIN_MS + 1000, every_ms: 10 });
  assert.ok(Date.now() - pressed_ms <= WITHIN_MS, `${Date.now() - pressed_ms} ms`);
  await stage.sleep(3000);
  assert.equal(await there(remote), false);
  assertNoErrors(remote);
}

export const tests = [
  ['the remote shows what a camera sees now, while somebody looks and nothing is hidden', aPictureOfNow],
  ['the remote shows nothing of a covered group now either', aCoveredGroup],
];
