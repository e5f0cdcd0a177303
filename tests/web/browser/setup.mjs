// Setting up a camera: the bars on the TV, and what the remote says meanwhile.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { HOLD_MS, columns } from '../../../web/live/bars.js';
import { probe } from '../probe.mjs';
import { assertNoErrors, card, picture, sentence } from './seen.mjs';

/** The time on the screen, by what is really painted; null where no bars are. */
const painted = (page) => page.evaluate(() => {
  const canvas = document.querySelector('#bars');
  const at = document.elementFromPoint(innerWidth / 2, innerHeight / 2);
  if (canvas.hidden || !canvas.width || !at || !at.closest('#card')) return null;
  const row = canvas.getContext('2d').getImageData(0, Math.floor(canvas.height / 2), canvas.width, 1).data;
  const light = [];
  for (let i = 0; i < 55; i += 1) light.push(row[4 * Math.floor((i + 0.5) * canvas.width / 55)] > 127 ? '#' : '.');
  return { light: light.join(''), time_ms: Number(canvas.dataset.time), now_ms: Date.now() };
});

async function theBars(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(tv);
  const remote = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  await remote.locator('.setup summary').click();
  const said = remote.locator('.calibration-said');
  await remote.locator('.calibrate').click();
  await stage.until('bars', () => painted(tv));

  const seen = [];
  for (const end = Date.now() + 4000; Date.now() < end;) {
    const now = await painted(tv);
    assert.ok(now, 'bars all the time');
    assert.equal(now.light, columns(now.time_ms).map((light) => (light ? '#' : '.')).join(''));
    if (!seen.length || seen[seen.length - 1] !== now.time_ms) seen.push(now.time_ms);
    // The server's clock is this machine's.
    assert.ok(Math.abs(now.now_ms - now.time_ms) < 2000, `${now.now_ms - now.time_ms} ms old`);
    await stage.sleep(30);
  }
  assert.ok(seen.length >= 5, `${seen.length} times in four seconds`);
  for (let i = 1; i < seen.length; i += 1) {
    // Two clocks' rounding and a refresh.
    assert.ok(seen[i] - seen[i - 1] >= HOLD_MS - 25, `${seen[i] - seen[i - 1]} ms apart`);
  }
  assert.equal(await card(tv), sentence('live-card-bars'));

  await remote.locator('[data-order="pause"]').click();
  await stage.until('the bars are hidden', async () => (await painted(tv)) === null);
  assert.equal(await card(tv), sentence('live-card-paused'));
  await stage.until('the remote says why', async () => (await said.innerText()) === sentence('live-calibration-hidden'));
  await remote.locator('[data-order="pause"]').click();
  await picture(tv);

  await remote.locator('.calibrate').click();
  await stage.until('bars again', () => painted(tv));
  await stage.until('the button stops', async () => (await remote.locator('.calibrate').innerText()) === sentence('live-calibration-stop'));
  await remote.locator('.calibrate').click();
  await stage.until('it says so', async () => (await said.innerText()) === sentence('live-calibration-stopped'));
  await picture(tv);
  assert.equal(await painted(tv), null, 'late pictures are back');
  assertNoErrors(tv);
  assertNoErrors(remote);
}

export const tests = [
  ['the bars of a calibration, and what hides them', theBars],
];
