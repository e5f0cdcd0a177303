// A tablet as the camera: a real Chromium publishes a recording as its camera,
// another shows it.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { cameraArgs, captures, makeRecording, withCaptures } from '../fake-camera.mjs';
import { delayFigures } from '../figures.mjs';
import { leadOverRelay } from '../relay.mjs';
import { watchRequests } from './outside.mjs';
import { photograph } from './photograph.mjs';
import { assertNoErrors, picture, seenFor, sentence } from './seen.mjs';

export const DELAY_MS = 2000;
/** From the camera to the glass, beyond the delay; absolute. */
const STRIP_MS = 100;
/** A request that is refused, or not answered while the server is away. */
export const AWAY = /status of (40[139]|50\d)|ERR_CONNECTION|WebSocket connection|Failed to load resource/;

/** Runs in the publishing page: what it asks of the device, and a battery that is nearly empty. */
function device() {
  const asked = { media: [], awake: 0 };
  window.asked = asked;
  const media = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
  navigator.mediaDevices.getUserMedia = (wish) => { asked.media.push(wish); return media(wish); };
  const awake = navigator.wakeLock.request.bind(navigator.wakeLock);
  navigator.wakeLock.request = (kind) => { asked.awake += kind === 'screen' ? 1 : 0; return awake(kind); };
  navigator.getBattery = () => Promise.resolve(Object.assign(new EventTarget(), { level: 0.12, charging: false }));
}

/** A browser that publishes, on the page of station 1's camera; `relayed` over a line that can be cut, or worse. */
export async function publish(server, { args = [], size = {}, relayed = null } = {}) {
  const file = await makeRecording(size);
  const tablet = await stage.openBrowser({ args: [...cameraArgs(file), ...args] });
  const assertNobodyElse = watchRequests(tablet);
  const page = await stage.openPage(tablet, `${server.base}/camera/1`, { init: { content: `(${device})(); (${captures})();` }, viewport: { width: 1024, height: 768 } });
  if (relayed !== null) page.relays = await leadOverRelay(page, relayed);
  await page.click('#start');
  await on(page);
  const close = () => {
    assertNobodyElse();
    return tablet.close();
  };
  return { page, close };
}

export async function on(page) {
  await stage.until('it publishes', async () => (await page.getAttribute('#camera', 'data-word')) === 'on', { within_ms: 30000 });
}

/** Whether pictures move and their time is right, by what the camera filmed. */
async function judged(tv, page, seconds) {
  await tv.evaluate(() => { window.probe.length = 0; });
  await stage.sleep(seconds * 1000);
  const seen = (await tv.evaluate(() => window.probe.slice())).filter((s) => !s.covered);
  const captured = await page.evaluate(() => window.captures);
  const figures = delayFigures(withCaptures(seen, captured, DELAY_MS), DELAY_MS, 'strip_ms');
  return { figures, stamp: delayFigures(seen, DELAY_MS), seen };
}

async function fromTabletToGlass(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true }]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await stage.until('the TV says what to do', async () => (await tv.innerText('#card-words')) === sentence('live-camera-no-publisher'));
  const { page, close } = await publish(server);
  await picture(tv);
  await stage.sleep(8000);
  const { figures, stamp, seen } = await judged(tv, page, 4);
  console.log(`       strip → glass: median ${figures.median_ms.toFixed(1)} p95 ${figures.p95_ms.toFixed(1)} ms; stamp → glass: median ${stamp.median_ms.toFixed(1)} p95 ${stamp.p95_ms.toFixed(1)} ms, ${figures.pictures} pictures`);
  assert.ok(figures.pictures > 60, `${figures.pictures} pictures`);
  assert.ok(Math.abs(figures.median_ms) <= STRIP_MS, JSON.stringify(figures));
  assert.ok(seen.every((s) => s.strip_ms !== null), 'a picture nobody can read was shown');
  assert.deepEqual(await tv.evaluate(() => [document.querySelector('video').videoWidth, document.querySelector('video').videoHeight]), [1280, 720]);

  // The page is opened anew, and goes on by itself.
  await page.reload();
  await on(page);
  await stage.sleep(DELAY_MS + 1000);
  assert.ok((await seenFor(tv, 1500)).filter((s) => !s.covered).length > 15);

  // The box begins anew.
  await stage.end(server.child, 'SIGKILL');
  const again = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true }], { port: server.port, folder: server.folder });
  const back_ms = Date.now();
  await stage.until('pictures arrive again', async () => {
    const { body } = await stage.api(again.base, '/api/stations/1');
    return body.camera.state === 'showing';
  }, { within_ms: 15000, every_ms: 100 });
  console.log(`       pictures ${Date.now() - back_ms} ms after the box was back`);
  await picture(tv);

  // And is stopped.
  await page.click('#stop');
  await stage.until('nobody publishes', async () => {
    const { body } = await stage.api(again.base, '/api/stations/1');
    return body.camera.state === 'no_publisher';
  });
  assertNoErrors(page, AWAY);
  await close();
}

async function locked(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true }]);
  // Who publishes is seen on any screen.
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  const { page, close } = await publish(server, { size: { seconds: 4 } });
  await picture(tv);
  // Pictures alone are asked for, and that the screen stays on.
  const asked = await page.evaluate(() => window.asked);
  assert.ok(asked.media.length > 0);
  assert.ok(asked.media.every((wish) => wish.audio === false), JSON.stringify(asked.media));
  assert.equal(asked.awake, 1);
  assert.equal(await page.innerText('#battery'), sentence('live-publish-battery-low', { percent: 12 }));
  await page.click('#lock');
  const shows = () => page.getAttribute('#camera', 'data-shows');
  assert.equal(await shows(), 'locked');
  await page.click('#unlock');
  await page.keyboard.press('Enter');
  assert.equal(await shows(), 'locked', 'a touch does nothing');
  // Long enough for an outline to be learnt.
  await stage.until('an outline is kept', () => page.evaluate(() => localStorage.getItem('afterturn-outline-1') !== null), { within_ms: 15000 });
  await page.focus('#unlock');
  await page.keyboard.down('Enter');
  await stage.sleep(2000);
  assert.equal(await shows(), 'locked');
  await stage.until('held for three seconds', async () => (await shows()) === 'run', { within_ms: 5000 });
  await page.keyboard.up('Enter');
  await stage.until('the outline is shown', () => page.isVisible('#outline'));
  assertNoErrors(page);
  await close();
}

async function bothAtOnce(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true }]);
  const file = await makeRecording({ seconds: 8 });
  const tablet = await stage.openBrowser({ args: cameraArgs(file) });
  const page = await stage.openPage(tablet, `${server.base}/camera/1/tv`, { init: probe });
  await picture(page);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(tv);
  await stage.until('nothing more to say', async () => !(await page.isVisible('#publishes')));
  assert.ok((await seenFor(page, 1500)).filter((s) => !s.covered).length > 10);
  assertNoErrors(page);
  await tablet.close();
}

const SIZES = [[1024, 768], [768, 1024], [844, 390], [390, 844]];

async function looks(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true }, { number: 2, title: 'Box jump', delay_ms: DELAY_MS }]);
  const file = await makeRecording({ seconds: 4 });
  const tablet = await stage.openBrowser({ args: cameraArgs(file) });
  // A station whose camera is of another kind says so.
  const other = await stage.openPage(browser, `${server.base}/camera/2`);
  assert.equal(await other.innerText('#other'), sentence('camera-other-kind'));
  for (const lang of ['en', 'es']) {
    const page = await stage.openPage(tablet, `${server.base}/camera/1?lang=${lang}`, { bypassCSP: true });
    const inEverySize = async (what) => {
      for (const [width, height] of SIZES) {
        await page.setViewportSize({ width, height });
        await photograph(page, `camera-${what}-${lang}-${width}`, { whole: false });
      }
    };
    await inEverySize('start');
    await page.click('#start');
    await on(page);
    await page.evaluate(() => {
      const edge = Array.from({ length: 3600 }, (_, i) => (i % 40 > 8 && i % 40 < 32 && (Math.floor(i / 40) === 58 || Math.floor(i / 40) === 80) ? 'f' : '0')).join('');
      localStorage.setItem('afterturn-outline-1', `160:${edge}`);
    });
    await stage.until('the outline is shown', () => page.isVisible('#outline'));
    await inEverySize('run');
    await page.click('#lock');
    await inEverySize('locked');
    assertNoErrors(page);
    await page.context().close();
  }
  await tablet.close();
}

export const tests = [
  ['from a tablet to the glass, through a reload and a restart', fromTabletToGlass],
  ['a locked camera page', locked],
  ['a tablet that is camera and screen', bothAtOnce],
  ['how the camera page looks', looks],
];
