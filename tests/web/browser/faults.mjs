// What a screen shows when something is away, and how it comes back.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertLate, assertNoErrors, assertNotReloaded, band, card, mark, picture, seenFor } from './seen.mjs';

const init = probe;
const english = readFileSync(path.join(stage.root, 'web/words/en.ftl'), 'utf8');

/** A sentence of the English words. */
function sentence(id) {
  const found = new RegExp(`^${id} = (.+)$`, 'm').exec(english);
  assert.ok(found, `${id} is a sentence`);
  return found[1];
}

async function cameraAway(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms: 3000, url: camera.url },
    { number: 2, title: 'Box jump', delay_ms: 2000, seed: 2 },
  ]);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init });
  const beside = await stage.openPage(browser, `${server.base}/tv/2`, { init });
  await picture(page);
  await picture(beside);
  await stage.sleep(1000);
  await mark(page);
  await beside.evaluate(() => { window.probe.length = 0; });

  await stage.end(camera.child, 'SIGKILL');
  await stage.until('a notice', async () => (await band(page)) === sentence('live-band-camera'), { within_ms: 2000 });
  assert.equal(await card(page), '', 'what was taken before goes on');
  await stage.until('a card', async () => (await card(page)) !== '', { within_ms: 5000 });
  assert.match(await card(page), /camera/i);

  await stage.startCamera(camera.port);
  await picture(page, 10000);
  await stage.until('no card, no notice', async () => (await card(page)) === '' && (await band(page)) === '');
  await stage.sleep(1000);
  assertLate(await seenFor(page, 2000), 3000);
  await assertNotReloaded(page);
  const other = await beside.evaluate(() => window.probe.slice());
  assert.ok(other.length > 150 && other.every((s) => !s.covered), 'the other station never noticed');
  assertNoErrors(page);
  assertNoErrors(beside);
}

async function serverAway(browser) {
  const camera = await stage.startCamera();
  const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }];
  const server = await stage.startServer(stations);
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
  assertNoErrors(page, /WebSocket connection/);
}

async function refused(browser) {
  const camera = await stage.startCamera(0, ['--user', 'viewer', '--password', 'right-one']);
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url, user: 'viewer', password: 'wrong-one' },
    { number: 2, title: 'Box jump', delay_ms: 2000, url: 'rtsp://127.0.0.1:9/cam' },
  ]);
  for (const [number, id] of [[1, 'live-camera-refused'], [2, 'live-camera-unreachable']]) {
    const page = await stage.openPage(browser, `${server.base}/tv/${number}`, { init });
    await stage.until(`its card says ${id}`, async () => (await card(page)) === sentence(id));
    await page.context().close();
  }
  const remote = await stage.openPage(browser, `${server.base}/remote`);
  await stage.until('the remote says both', async () => {
    const text = await remote.innerText('body');
    return text.includes(sentence('live-camera-refused')) && text.includes(sentence('live-camera-unreachable'));
  });
  const said = JSON.stringify((await stage.api(server.base, '/api/stations')).body)
    + await remote.content() + server.child.said;
  for (const secret of ['wrong-one', 'right-one', '/cam']) {
    assert.ok(!said.includes(secret), `${secret} is told nowhere`);
  }
}

export const tests = [
  ['a camera that goes away and comes back', cameraAway],
  ['a server that goes away and comes back', serverAway],
  ['a refused password and a camera that is not there, in plain words', refused],
];
