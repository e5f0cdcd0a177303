// What must not be seen is not seen, read off the strip in the picture: don't
// show, cover from now, pause, wipe.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { glass, lastSeen } from '../glass.mjs';
import { startGoBetween } from '../go-between.mjs';
import { assertLate, assertNoErrors, card, picture, seenFor } from './seen.mjs';

/** From an order to the last picture it forbids, on a glass near at hand. */
const WITHIN_MS = stage.bound(500, 1000);

const order = (base, name) => stage.api(base, '/api/stations/1/orders', {
  method: 'POST',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify({ order: name }),
});

const covered = (page) => stage.until('a card', async () => (await card(page)) !== '', { within_ms: 2500, every_ms: 10 });

async function ready(browser, delay_ms = 2000) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms, url: camera.url }]);
  await stage.learned(server.base);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(page);
  await stage.sleep(1500);
  await page.evaluate(() => { window.probe.length = 0; });
  return { server, page };
}

/** Pictures that were really seen, by the time drawn into them. */
async function shown(page) {
  const seen = await page.evaluate(() => window.probe.slice());
  return seen.filter((s) => !s.covered && s.strip_ms !== null);
}

async function dontShow(browser) {
  const { server, page } = await ready(browser);
  for (let round = 0; round < 5; round += 1) {
    await stage.sleep(300 + round * 170);
    const asked_ms = Date.now();
    const { status } = await order(server.base, 'dont_show');
    const done_ms = Date.now();
    assert.equal(status, 200);
    await covered(page);
    await picture(page);
    // Everything taken and not yet seen when it was asked for: never on the glass.
    const hidden = (await shown(page)).filter((s) => s.strip_ms > done_ms - 2000 && s.strip_ms < asked_ms);
    assert.deepEqual(hidden.filter((s) => s.glass_ms > done_ms + 100), []);
    assertLate(await seenFor(page, 1000), 2000);
  }
  assertNoErrors(page);
}

async function coverFromNow(browser) {
  const { server, page } = await ready(browser);
  const from_ms = Date.now();
  await order(server.base, 'cover_from_now');
  await stage.sleep(1200);
  assert.equal(await card(page), '', 'what was taken before goes on');
  await stage.until('a card', async () => (await card(page)) !== '', { within_ms: 4000 });
  await stage.sleep(1500);
  const to_ms = Date.now();
  await order(server.base, 'uncover');
  await picture(page);
  const seen = await shown(page);
  // 60 ms: the camera's picture on its way in when the order came.
  assert.deepEqual(seen.filter((s) => s.strip_ms > from_ms + 60 && s.strip_ms < to_ms - 60), []);
  assert.ok(seen.some((s) => s.strip_ms < from_ms && s.glass_ms > from_ms + 1000), 'the earlier ones were seen');
  await stage.sleep(1500);
  assertLate(await seenFor(page, 1500), 2000);
}

async function pause(browser) {
  const { server, page } = await ready(browser);
  const asked_ms = Date.now();
  await order(server.base, 'pause');
  await stage.until('it says paused', async () => (await card(page)) === 'Paused', { within_ms: WITHIN_MS + 1000 });
  await stage.sleep(2000);
  assert.deepEqual((await shown(page)).filter((s) => s.glass_ms > asked_ms + WITHIN_MS), []);
  await order(server.base, 'resume');
  await picture(page, 3000);
  await stage.sleep(1500);
  assertLate(await seenFor(page, 1500), 2000);
}

async function wipe(browser) {
  const { server, page } = await ready(browser);
  for (let round = 0; round < 3; round += 1) {
    const asked_ms = Date.now();
    await order(server.base, 'wipe');
    await covered(page);
    await picture(page);
    const seen = await shown(page);
    assert.deepEqual(seen.filter((s) => s.strip_ms < asked_ms && s.glass_ms > asked_ms + WITHIN_MS), []);
    await stage.sleep(700 + round * 230);
    assertLate(await seenFor(page, 1000), 2000);
  }
  const { body } = await stage.api(server.base, '/api/stations/1');
  assert.ok(body.oldest_us / 1000 > Date.now() - 12000, 'the ring forgot too');
}

/** The line dies at the moment of the wipe: the screen has to act by itself. */
async function wipeAcrossAStall(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }]);
  const line = await startGoBetween(server.port);
  const init = { content: `(${probe})(); (${glass})();` };
  const page = await stage.openPage(browser, `${line.base}/tv/1`, { init });
  await picture(page);
  await stage.sleep(1000);
  for (const stall_ms of [1200, 3500]) {
    line.stall();
    const asked_ms = Date.now();
    await order(server.base, 'wipe');
    await stage.sleep(stall_ms);
    line.run();
    await picture(page);
    const record = await page.evaluate(() => window.glass.slice());
    const late_ms = lastSeen(record, (strip_ms) => strip_ms < asked_ms, Date.now()) - asked_ms;
    assert.ok(late_ms < WITHIN_MS, `seen for ${late_ms} ms`);
  }
  assertLate(await seenFor(page, 1000), 2000);
  line.end();
}

async function fromTheRemote(browser) {
  const { server, page } = await ready(browser);
  const remote = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  const row = remote.locator('[data-number="1"]');
  await row.locator('.opened > summary').click();
  await row.getByText('Pause', { exact: true }).click();
  await stage.until('paused', async () => (await card(page)) === 'Paused');
  await row.getByText('Show again', { exact: true }).click();
  await picture(page);
  await row.getByText("Don't show", { exact: true }).click();
  await stage.until('what the press did', async () => /stays unseen/.test(await row.innerText()));
  await stage.until('covered', async () => (await card(page)) !== '');
  await picture(page);
  assertNoErrors(remote);
  assertNoErrors(page);
}

export const tests = [
  ["don't show: what has not been seen is never seen", dontShow],
  ['cover from now goes by when a picture was taken', coverFromNow],
  ['pause covers at once and resumes on time', pause],
  ['wipe empties every glass within half a second', wipe],
  ['wipe on a screen whose line has stalled', wipeAcrossAStall],
  ['orders from the remote', fromTheRemote],
];
