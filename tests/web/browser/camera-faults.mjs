// What happens to a tablet in a gym: it is turned away, its network is gone, its
// pictures change their size. The recording of fake-camera.mjs stands for the mat;
// other pictures are drawn in the publishing page itself.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { look, spoilt } from '../fake-camera.mjs';
import { probe } from '../probe.mjs';
import { AWAY, DELAY_MS, on, publish } from './camera.mjs';
import { out, photograph } from './photograph.mjs';
import { assertNoErrors, card, picture, sentence } from './seen.mjs';

const STATION = { number: 1, title: 'Low beam', delay_ms: DELAY_MS, whip: true };

/** Publishes drawn pictures from now on, of a size and drawing that can be changed. */
function drawInstead() {
  const canvas = document.createElement('canvas');
  const drawn = { width: 1280, height: 720, dark: false };
  window.drawn = drawn;
  const brush = canvas.getContext('2d');
  let number = 0;
  setInterval(() => {
    const { width, height, dark } = drawn;
    if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
    number += 1;
    const grey = (share) => { brush.fillStyle = `rgb(${[0, 0, 0].fill(Math.round((dark ? 0.08 : 1) * share * 255))})`; };
    const box = (share, x, y, w, h) => { grey(share); brush.fillRect(x * width, y * height, w * width, h * height); };
    // A corridor: a door, a bench, tiles, a lamp.
    box(0.75, 0, 0, 1, 0.7);
    box(0.4, 0, 0.7, 1, 0.3);
    box(0.3, 0.36, 0.14, 0.2, 0.6);
    box(0.55, 0.38, 0.17, 0.16, 0.25);
    box(0.2, 0.7, 0.55, 0.25, 0.05);
    for (const x of [0.72, 0.91]) box(0.2, x, 0.6, 0.02, 0.15);
    for (let x = 0; x < 9; x += 1) box(0.3, x * 0.12, 0.7 + (x % 3) * 0.08, 0.06, 0.02);
    box(0.95, 0.05, 0.12, 0.12, 0.05);
    box(0.6, (number % 60) / 60, 0.85, 0.02, 0.1);
  }, 33);
  window.afterturn.publisher.start(canvas.captureStream(30).getVideoTracks()[0]);
}

const info = async (server) => (await stage.api(server.base, '/api/stations/1')).body;

async function turnedAway(browser) {
  const server = await stage.startServer([STATION]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  const { page, close } = await publish(server);
  await picture(tv);
  // What stands still is known after eight looks, one each keyframe.
  await stage.sleep(14000);
  assert.equal(await card(tv), '', 'play moves no camera');
  const began = Date.now();
  await page.evaluate(drawInstead);
  await stage.until('the picture is off the TV', () => tv.isVisible('#card'), { within_ms: 8000, every_ms: 10 });
  console.log(`       off the TV ${Date.now() - began} ms after the camera was turned`);
  await stage.until('it is known to have moved', async () => (await info(server)).camera.moved);
  await stage.until('the tablet says so', async () => (await page.innerText('#warning')) === sentence('live-publish-moved'));
  await tv.evaluate(() => { window.probe.length = 0; });
  await stage.sleep(DELAY_MS + 1500);
  assert.ok(await tv.isVisible('#card'), 'nothing but somebody who looks ends it');
  assert.deepEqual((await tv.evaluate(() => window.probe.slice())).filter((s) => !s.covered), []);
  await tv.screenshot({ path: path.join(out, 'camera-moved-tv.png') });
  for (const lang of ['es', 'en']) {
    const phone = await stage.openPage(browser, `${server.base}/remote?lang=${lang}`, { viewport: { width: 390, height: 844 }, bypassCSP: true });
    const right = '.camera-moved [data-order="camera_right"]';
    await stage.until('the remote asks', () => phone.isVisible(right));
    await photograph(phone, `camera-moved-remote-${lang}`);
    if (lang === 'en') {
      await phone.click(right);
      await stage.until('it is right', async () => !(await phone.isVisible(right)));
    }
    await phone.context().close();
  }
  assert.equal((await info(server)).camera.moved, false);
  await picture(tv);
  assert.equal(await page.isVisible('#warning'), false);
  // And too dark is said where the camera stands.
  await page.evaluate(() => { window.drawn.dark = true; });
  await stage.until('the tablet says so', async () => (await page.innerText('#warning')) === sentence('live-sight-too-dark'), { within_ms: 40000 });
  assertNoErrors(page);
  assertNoErrors(tv);
  await close();
}

async function networkGone(browser) {
  const server = await stage.startServer([STATION]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  const { page, close } = await publish(server, { relayed: { loss: 0, jitter_ms: 0 }, size: { seconds: 6 } });
  await picture(tv);
  for (const seconds of [3, 8]) {
    page.relays.forEach((relay) => { relay.line.cut = true; });
    await page.context().setOffline(true);
    await stage.until('pictures stop', async () => (await info(server)).camera.state !== 'showing');
    await stage.until('the page says so', async () => (await page.getAttribute('#camera', 'data-word')) === 'away');
    await stage.sleep(seconds * 1000);
    page.relays.forEach((relay) => { relay.line.cut = false; });
    await page.context().setOffline(false);
    const began = Date.now();
    await stage.until('pictures again', async () => (await info(server)).camera.state === 'showing', { within_ms: 20000 });
    console.log(`       pictures ${Date.now() - began} ms after the network was back`);
    await on(page);
  }
  await picture(tv);
  assertNoErrors(page, AWAY);
  await close();
  page.relays.forEach((relay) => relay.end());
}

/** One datagram in twenty lost, the others late by up to 50 ms and so out of order: every picture comes, and whole. */
async function badNetwork(browser) {
  const server = await stage.startServer([STATION]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: { content: `(${probe})(); (${look})();` } });
  const { page, close } = await publish(server, { relayed: { loss: 0.05, jitter_ms: 50, seed: 7 }, size: { seconds: 8 } });
  await picture(tv);
  await stage.sleep(2000);
  await tv.evaluate(() => { window.probe.length = 0; window.looked.length = 0; });
  await stage.sleep(5000);
  const seen = (await tv.evaluate(() => window.probe.slice())).filter((s) => !s.covered);
  const { taken, lost } = page.relays[0].passed;
  console.log(`       ${seen.length} pictures in 5 s, ${lost} of ${taken} datagrams lost`);
  assert.ok(lost > taken * 0.03, 'the line is as bad as it should be');
  assert.ok(seen.length > 75, `${seen.length} pictures in 5 s`);
  assert.equal(spoilt(await tv.evaluate(() => window.looked.slice())), 0, 'no spoilt picture is shown');
  assertNoErrors(tv);
  await close();
  page.relays.forEach((relay) => relay.end());
}

/** Sizes that follow each other every second, upright and lying; then one that stays. */
const SIZES = [[640, 360], [720, 1280], [960, 540], [360, 640], [1280, 720], [720, 1280]];

async function otherSizes(browser) {
  const server = await stage.startServer([STATION, { number: 2, title: 'Box jump', delay_ms: DELAY_MS }]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  const other = await stage.openPage(browser, `${server.base}/tv/2`, { init: probe });
  const { page, close } = await publish(server, { size: { seconds: 4 } });
  await picture(tv);
  await picture(other);
  await other.evaluate(() => { window.probe.length = 0; });
  await page.evaluate(drawInstead);
  for (const [width, height] of SIZES) {
    await page.evaluate((size) => { Object.assign(window.drawn, size); }, { width, height });
    await stage.sleep(1000);
  }
  // Upright is upright: a tablet on its side is not shown lying down.
  await stage.until('what stays is shown', () => tv.evaluate(
    () => document.querySelector('#card').hidden && document.querySelector('video').videoHeight > document.querySelector('video').videoWidth,
  ), { within_ms: 20000 });
  const elsewhere = (await other.evaluate(() => window.probe.slice()));
  assert.ok(elsewhere.length > 60, `${elsewhere.length} pictures at the other station`);
  // One or two where the machine itself hiccups.
  assert.ok(elsewhere.filter((s) => s.covered).length < elsewhere.length * 0.1, 'the other station notices nothing');
  assertNoErrors(tv);
  assertNoErrors(page);
  await close();
}

export const tests = [
  ['a camera that is turned away', turnedAway],
  ['a camera whose network is gone', networkGone],
  ['a camera on a bad network', badNetwork],
  ['a camera whose pictures change their size', otherSizes],
];
