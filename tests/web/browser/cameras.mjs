// The cameras that are plugged in: a picture of each or the reason why not, and
// how that looks.

import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { look } from './looks.mjs';
import { assertNoErrors, sentence } from './seen.mjs';

/** A test card, as a camera might see one. */
function testCard() {
  const file = path.join(mkdtempSync(path.join(tmpdir(), 'afterturn-')), 'card.jpg');
  const made = spawnSync('ffmpeg', ['-v', 'error', '-f', 'lavfi', '-i', 'smptehdbars=size=640x360', '-frames:v', '1', file]);
  assert.equal(made.status, 0, String(made.stderr));
  return file;
}

/** What stands in a camera's place: the size of its picture, or a sentence. */
const places = (page) => page.evaluate(() => [...document.querySelectorAll('.cameras > li')].map((one) => {
  const image = one.querySelector('img');
  const why = one.querySelector('.why');
  return {
    name: one.querySelector('h2').textContent,
    used: one.querySelector('.used') ? one.querySelector('.used').textContent : '',
    picture: image && image.complete ? [image.naturalWidth, image.naturalHeight] : null,
    alt: image ? image.alt : '',
    why: why ? why.textContent : '',
  };
}));

const TAKING = ['Taking a picture…', 'Tomando una imagen…'];
/** Presses for a picture of each that can be looked through. */
async function settled(page) {
  await page.evaluate(() => [...document.querySelectorAll('form.look button')].forEach((button) => button.click()));
  await stage.until('every picture is there or not', async () => {
    const all = await places(page);
    return all.length === 7 && all.every((one) => one.picture || (one.why && !TAKING.includes(one.why)));
  }, { within_ms: 30000 });
}

async function onThePage(browser) {
  const { base } = await stage.startTable(testCard());
  await stage.until('station 3 shows', async () => (await stage.api(base, '/api/stations/3')).body.camera.state === 'showing');
  const page = await stage.openPage(browser, `${base}/cameras`);
  const untouched = await places(page);
  assert.equal(untouched.length, 7);
  assert.ok(untouched.every((one) => one.picture === null), 'opening the page takes no picture');
  await settled(page);
  const all = await places(page);
  const [free, used, forbidden, form, busy, silent, absent] = all;
  assert.deepEqual(free.picture, [640, 360]);
  assert.equal(free.why, '');
  assert.equal(free.alt, sentence('live-picture-of', { name: free.name }));
  // The demo scene: it came out of the ring.
  assert.match(used.used, /Station 3/);
  assert.deepEqual(used.picture, [640, 360]);
  for (const [one, why] of [[forbidden, 'forbidden'], [form, 'no-form'], [busy, 'busy'], [silent, 'silent'], [absent, 'unplugged']]) {
    assert.equal(one.why, sentence(`live-no-picture-${why}`), one.name);
    assert.equal(one.picture, null, one.name);
  }
  assert.match(absent.name, /station 4/);

  // What nobody may see now is no picture here either.
  const paused = await stage.api(base, '/api/stations/3/orders', {
    method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ order: 'pause' }),
  });
  assert.equal(paused.status, 200);
  await page.reload();
  await settled(page);
  const hidden = (await places(page))[1];
  assert.deepEqual([hidden.picture, hidden.why], [null, sentence('live-no-picture-in-use')]);
  // A camera that gives no picture is answered so, and a browser notes it.
  assertNoErrors(page, /status of 422/);

  await stage.api(base, '/api/stations/3/orders', {
    method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ order: 'resume' }),
  });
  await look(browser, base, '/cameras', [[390, 844], [820, 1180], [1920, 1080]], { ready: settled, whole: true, fine: /status of 422/ });
}

export const tests = [['the cameras that are plugged in', onThePage]];
