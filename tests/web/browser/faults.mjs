// What a screen shows when something is away, and how it comes back.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertLate, assertNoErrors, assertNotReloaded, card, mark, notice, picture, seenFor, sentence } from './seen.mjs';

const init = probe;
/** What a card may say of a camera that went away. */
const AWAY = ['ended', 'unreachable', 'stalled'].map((state) => sentence(`live-camera-${state}`));
const DELAY_MS = 3000;

async function cameraAway(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms: DELAY_MS, url: camera.url },
    { number: 2, title: 'Box jump', delay_ms: 2000, seed: 2 },
  ]);
  await stage.learned(server.base);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init });
  const beside = await stage.openPage(browser, `${server.base}/tv/2`, { init });
  await picture(page);
  await picture(beside);
  await stage.sleep(1000);
  await mark(page);
  await beside.evaluate(() => { window.probe.length = 0; });

  await page.evaluate(() => { window.probe.length = 0; });
  await stage.end(camera.child, 'SIGKILL');
  const killed_ms = Date.now();
  await stage.until('a notice', async () => (await notice(page)) === sentence('live-notice-camera'), { within_ms: 4000 });
  assert.equal(await card(page), '', 'what was taken before goes on');
  await stage.until('a card', async () => (await card(page)) !== '', { within_ms: 5000 });
  await stage.until('it says why', async () => AWAY.includes(await card(page)));
  await stage.sleep(1000);
  const rest = (await page.evaluate(() => window.probe.slice())).filter((s) => !s.covered);
  assertLate(rest, DELAY_MS);
  const last = rest[rest.length - 1];
  // All that was taken is seen, but for what was on its way; nothing twice, nothing frozen.
  assert.ok(last.glass_ms - killed_ms > DELAY_MS - 1000, `seen until ${last.glass_ms - killed_ms} ms after`);
  assert.notEqual(await card(page), '', 'nobody stands frozen');
  assert.equal(await notice(page), '', 'said once');

  await stage.startCamera(camera.port);
  await picture(page, 10000);
  await stage.until('no card, no notice', async () => (await card(page)) === '' && (await notice(page)) === '');
  await stage.sleep(1000);
  assertLate(await seenFor(page, 2000), DELAY_MS);
  await assertNotReloaded(page);
  const other = await beside.evaluate(() => window.probe.slice());
  // A machine busy for a third of a second covers a screen for as long (the server's
  // word is missing then); a camera's trouble would cover it for seconds.
  const covered = other.filter((s) => s.covered).length;
  assert.ok(other.length > 150 && covered < other.length / 10, `the other station never noticed: ${covered} of ${other.length} covered`);
  assert.equal(await card(beside), '', 'and stands uncovered');
  assertNoErrors(page);
  assertNoErrors(beside);
}

async function serverAway(browser) {
  const camera = await stage.startCamera();
  const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }];
  const server = await stage.startServer(stations);
  await stage.learned(server.base);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init });
  await picture(page);
  await mark(page);
  await stage.end(server.child, 'SIGKILL');
  await stage.until('the screen covers itself', async () => (await card(page)) === sentence('live-card-link'),
    { within_ms: 4000 });
  await stage.startServer(stations, { port: server.port });
  await picture(page);
  await stage.sleep(1500);
  assertLate(await seenFor(page, 2000), 2000);
  await assertNotReloaded(page);
  // Only the socket that could not be opened meanwhile.
  assertNoErrors(page, /WebSocket connection|ERR_CONNECTION_REFUSED/);
}

async function refused(browser) {
  const camera = await stage.startCamera(0, ['--user', 'viewer', '--password', 'right-one']);
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url, user: 'viewer', password: 'wrong-one' },
    { number: 2, title: 'Box jump', delay_ms: 2000, url: 'rtsp://127.0.0.1:9/cam' },
  ]);
  const expected = [[1, 'live-camera-refused'], [2, 'live-camera-unreachable']];
  let said = '';
  for (const [number, id] of expected) {
    const page = await stage.openPage(browser, `${server.base}/tv/${number}`, { init });
    await stage.until(`its card says ${id}`, async () => (await card(page)) === sentence(id));
    said += await page.content();
    await page.context().close();
  }
  const remote = await stage.openPage(browser, `${server.base}/remote`);
  for (const [number, id] of expected) {
    await stage.until(`row ${number} says ${id}`,
      async () => (await remote.innerText(`[data-number="${number}"] .camera`)) === sentence(id));
  }
  said += JSON.stringify((await stage.api(server.base, '/api/stations')).body)
    + await remote.content() + server.child.said;
  // The page of the cameras, `/cameras`, is no secret; the path `/cam` is.
  for (const secret of [/wrong-one/, /right-one/, /\/cam\b/, /rtsp:\/\//]) {
    assert.doesNotMatch(said, secret);
  }
}

export const tests = [
  ['a camera that goes away and comes back', cameraAway],
  ['a server that goes away and comes back', serverAway],
  ['a refused password and a camera that is not there, in plain words', refused],
];
