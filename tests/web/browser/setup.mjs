// Setting up a camera: the bars on the TV, and what the remote says meanwhile.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { HOLD_MS, columns } from '../../../web/live/bars.js';
import { probe } from '../probe.mjs';
import { ask, outcome, startDisplay, startFilmed, station } from '../filmed.mjs';
import { look } from './looks.mjs';
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
  await remote.locator('.opened > summary').click();
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

/**
 * What a figure may be off by, and a refresh: a display that is none shows at
 * once what the page says will be seen with the next refresh.
 */
const EXACT_MS = 20 + 17;

async function theRealPage(browser) {
  const { child, display } = await startDisplay();
  const { camera, server, stations, page, close } = await startFilmed(display, 250);
  const remote = await stage.openPage(browser, `${server.base}/remote`);
  await remote.locator('.opened > summary').click();
  await remote.locator('.setup summary').click();
  await remote.locator('.calibrate').click();
  const over = await outcome(server.base);
  assert.equal(over.state, 'found', JSON.stringify(over));
  assert.ok(Math.abs(over.latency_ms - 250) <= EXACT_MS, `${over.latency_ms} ms`);
  await stage.until('late pictures are back by themselves', async () => (await card(page)) !== sentence('live-card-bars'));
  const said = sentence('live-calibration-found', { ms: over.latency_ms, unsure: over.unsure_ms });
  await stage.until('the remote says it', async () => (await remote.locator('.calibration-said').innerText()) === said);
  assertNoErrors(page);
  assertNoErrors(remote);
  await remote.close();

  // After a restart it goes by the same figure; with another camera it does not.
  await stage.end(server.child);
  const { port, folder } = server;
  const again = await stage.startServer(stations, { port, folder });
  assert.deepEqual((await station(again.base)).latency, { file_ms: 0, now_ms: over.latency_ms });
  await stage.end(again.child);
  const other = await stage.startServer([{ ...stations[0], url: 'rtsp://127.0.0.1:9/cam' }], { port, folder });
  assert.equal((await station(other.base)).latency.now_ms, 0);
  await stage.end(other.child);
  await stage.end(camera.child);
  await close();
  await stage.end(child);
}

/** Opens every row's setup, once so many cameras are said to see badly. */
const opened = (badly) => (page) => stage.until(`${badly} that see badly`, () => page.evaluate((least) => {
  for (const one of document.querySelectorAll('.opened, .setup')) one.open = true;
  return [...document.querySelectorAll('.notes')].filter((one) => one.textContent).length === least;
}, badly), { within_ms: 40000 });

async function whatIsSaid(browser) {
  const stations = [];
  for (const [index, how] of ['dark', 'backlit', 'soft'].entries()) {
    const { url } = await stage.startCamera(0, ['--poorly', how, '--size', '640x360']);
    stations.push({ number: index + 1, title: ['Low beam', 'Box jump', 'Forward roll'][index], delay_ms: 2000, url });
  }
  const { base } = await stage.startServer(stations);
  const remote = await stage.openPage(browser, `${base}/remote`);
  for (const number of [1, 2, 3]) await remote.click(`[data-number="${number}"] .opened > summary`);
  const note = (number) => remote.locator(`[data-number="${number}"] .notes`).innerText();
  for (const [number, word] of [[1, 'too-dark'], [2, 'backlit'], [3, 'out-of-focus']]) {
    await stage.until(word, async () => (await note(number)) === sentence(`live-sight-${word}`), { within_ms: 40000 });
  }

  const tv = await stage.openPage(browser, `${base}/tv/1`, { init: probe });
  await picture(tv);
  await ask(base, 'start');
  // Nobody looks for light while bars are shown.
  await look(browser, base, '/tv/1', [[1920, 1080]], { name: 'tv-1-bars', ready: (page) => stage.until('bars', () => painted(page)) });
  const running = async (page) => {
    // The one before may be over by now, on a machine that takes its time.
    if ((await station(base)).calibration.state !== 'running') await ask(base, 'start');
    await opened(2)(page);
  };
  await look(browser, base, '/remote', [[390, 844]], { name: 'remote-setup-running', ready: running, whole: true });
  await stage.until('it ends by itself', async () => (await station(base)).calibration.state === 'refused', { within_ms: 30000 });
  assert.equal((await station(base)).calibration.why, 'too_dark');
  await picture(tv);
  await look(browser, base, '/remote', [[390, 844], [1024, 768]], { name: 'remote-setup', ready: opened(3), whole: true });
}

export const tests = [
  ['a camera that films its TV is calibrated, and stays so', theRealPage],
  ['a camera that sees badly is said, and how setting up looks', whatIsSaid],
  ['the bars of a calibration, and what hides them', theBars],
];
