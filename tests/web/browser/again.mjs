// The last attempt once more, read off the strip in the picture: which pictures,
// how fast, and that the late picture is back where it should be. Ten minutes of
// a key that is mashed: scripts/mash.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { median } from '../figures.mjs';
import { probe } from '../probe.mjs';
import { look } from './looks.mjs';
import { assertLate, assertNoErrors, card, picture, seenFor, sentence } from './seen.mjs';

const DELAY_MS = 3000;
const ATTEMPT_S = 4;
const UNITS = path.join(stage.root, 'config/units');
const MASH_S = Number(process.env.AFTERTURN_MASH_S || 15);

const info = async (base) => (await stage.api(base, '/api/stations/1')).body;
const json = (method, body) => ({ method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
const ask = async (base, what, number = 1) => (await stage.api(base, `/api/stations/${number}/again`, json('POST', { ask: what }))).body;
const order = (base, what) => stage.api(base, '/api/stations/1/orders', json('POST', { order: what }));
const said = (page) => page.evaluate(() => {
  const sign = document.querySelector('#again');
  return sign.hidden ? '' : sign.innerText.trim();
});

async function ready(browser, { attempt_s = ATTEMPT_S } = {}) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: DELAY_MS, attempt_s, url: camera.url }]);
  await stage.learned(server.base);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(page);
  // So long that a whole attempt has been seen.
  await stage.sleep(attempt_s * 1000 + 500);
  await page.evaluate(() => { window.probe.length = 0; });
  return { server, page };
}

/** Presses, and what the station says of it then. */
async function press(server, page) {
  await page.keyboard.press('PageUp');
  const { again } = await stage.until('it is answered', async () => {
    const now = await info(server.base);
    return now.again && now;
  }, { within_ms: 4000, every_ms: 20 });
  assert.equal(again.kind, 'playing');
  return Object.fromEntries(Object.entries(again).filter(([name]) => name !== 'kind').map(([name, us]) => [name.replace('_us', '_ms'), us / 1000]));
}

const all = (page) => page.evaluate(() => window.probe.slice());

/** Pictures that were seen were those of the stretch, each when it was due at half speed. */
function assertReplayed(seen, { from_ms, to_ms, starts_ms, ends_ms }, after_ms = 0) {
  const during = seen.filter((s) => s.glass_ms >= starts_ms + 150 + after_ms && s.glass_ms < ends_ms);
  assert.deepEqual(during.filter((s) => s.covered), [], 'none is covered');
  const strips = during.filter((s) => s.strip_ms !== null);
  assert.ok(strips.length > (ends_ms - starts_ms - 150 - after_ms) / 1000 * 15 * 0.7, `${strips.length} pictures`);
  // 120 ms: what the camera's stamp and its strip may be apart.
  assert.deepEqual(strips.filter((s) => s.strip_ms < from_ms - 120 || s.strip_ms > to_ms + 120), [], 'only pictures of that stretch');
  for (let i = 1; i < strips.length; i += 1) assert.ok(strips[i].strip_ms >= strips[i - 1].strip_ms, 'in order');
  const errors = strips.map((s) => s.stamp_ms - (from_ms + (s.glass_ms - starts_ms) / 2));
  assert.ok(Math.abs(median(errors)) < 60, `the middle is ${median(errors)} ms off`);
  const [first, last] = [strips[0], strips[strips.length - 1]];
  const pace = (last.strip_ms - first.strip_ms) / (last.glass_ms - first.glass_ms);
  assert.ok(Math.abs(pace - 0.5) < 0.04, `the pictures go by at ${pace}`);
  return { pictures: strips.length, middle_ms: median(errors), pace };
}

/** From a second after its end on everything is as late as was set. */
async function assertBack(page, ends_ms, delay_ms = DELAY_MS) {
  await stage.sleep(Math.max(0, ends_ms + 3500 - Date.now()));
  const seen = await all(page);
  assertLate(seen.filter((s) => s.glass_ms > ends_ms + 1000), delay_ms);
  // And in the second before no card, and no picture before its time.
  const turn = seen.filter((s) => s.glass_ms >= ends_ms && s.glass_ms <= ends_ms + 1000);
  assert.deepEqual(turn.filter((s) => s.covered), [], 'nothing covers the way back');
}

async function onceMore(browser) {
  const { server, page } = await ready(browser);
  const pressed_ms = Date.now();
  const stretch = await press(server, page);
  assert.ok(Math.abs(stretch.to_ms - (pressed_ms - DELAY_MS)) < 500, 'up to what was on the glass');
  assert.ok(Math.abs(stretch.to_ms - stretch.from_ms - ATTEMPT_S * 1000) < 70, 'the attempt');
  await stage.until('it says so', async () => await said(page) === sentence('live-again-again'), { within_ms: 3000 });
  await stage.sleep(stretch.ends_ms - Date.now() - 200);
  assert.equal(await card(page), '');
  await stage.until('and no longer', async () => await said(page) === '', { within_ms: 3000 });
  await assertBack(page, stretch.ends_ms);
  const seen = await all(page);
  const figures = assertReplayed(seen, stretch);
  console.log(`  ${figures.pictures} pictures, the middle ${figures.middle_ms.toFixed(1)} ms off, pace ${figures.pace.toFixed(3)}`);
  const [viewer] = (await info(server.base)).viewers;
  assert.ok(Math.abs(viewer.error_ms) < 150, `the remote is told ${viewer.error_ms} ms`);
  assertNoErrors(page);
}

/** A screen that has just opened has to be sent what it is to show. */
async function aScreenThatHasNoneOfIt(browser) {
  const { server, page } = await ready(browser, { attempt_s: 6 });
  const stretch = await press(server, page);
  const late = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await stage.until('a picture of the stretch', async () => (await all(late)).some((s) => !s.covered), { within_ms: 8000 });
  const began_ms = Date.now();
  await assertBack(late, stretch.ends_ms);
  assertReplayed(await all(late), stretch, began_ms - stretch.starts_ms);
  assertNoErrors(late);
}

async function hiddenInTheMiddle(browser) {
  const { server, page } = await ready(browser);
  for (const what of ['wipe', 'dont_show', 'pause']) {
    await stage.until('it is answered', async () => (await ask(server.base, 'again')).answer === 'done', { within_ms: 20000, every_ms: 300 });
    await stage.until('it says so', async () => await said(page) !== '', { within_ms: 3000 });
    await stage.sleep(1200);
    const { again } = await info(server.base);
    const asked_ms = Date.now();
    await order(server.base, what);
    await stage.until('a card', async () => await card(page) !== '', { within_ms: 2500, every_ms: 10 });
    assert.equal((await info(server.base)).again, null, what);
    if (what === 'pause') {
      await stage.sleep(500);
      await order(server.base, 'resume');
    }
    await picture(page);
    await stage.sleep(1200);
    const seen = (await all(page)).filter((s) => !s.covered && s.strip_ms !== null && s.glass_ms > asked_ms + 500);
    assert.deepEqual(seen.filter((s) => s.strip_ms < again.to_us / 1000), [], `${what}: nothing of the stretch is seen after`);
    assertLate(await seenFor(page, 1000), DELAY_MS);
  }
  assertNoErrors(page);
}

async function anotherDelayInTheMiddle(browser) {
  const { server, page } = await ready(browser);
  let delay_ms = DELAY_MS;
  for (const next of [6000, 2000]) {
    await stage.until('it is answered', async () => (await ask(server.base, 'again')).answer === 'done', { within_ms: 20000, every_ms: 300 });
    const { again } = await info(server.base);
    await stage.sleep(2000);
    await stage.setDelay(server.base, 1, next);
    await assertBack(page, again.ends_us / 1000, next);
    assertReplayed(await all(page), { from_ms: again.from_us / 1000, to_ms: again.to_us / 1000, starts_ms: again.starts_us / 1000, ends_ms: again.ends_us / 1000 });
    await page.evaluate(() => { window.probe.length = 0; });
    delay_ms = next;
  }
  assertLate(await seenFor(page, 1500), delay_ms);
  assertNoErrors(page);
}

/** A bored child. */
async function mashed(browser) {
  const { server, page } = await ready(browser, { attempt_s: 2 });
  await page.evaluate(() => {
    window.signs = 0;
    const sign = document.querySelector('#again');
    new MutationObserver(() => { window.signs += sign.hidden ? 0 : 1; }).observe(sign, { attributes: true, attributeFilter: ['hidden'] });
  });
  const keys = ['PageUp', 'ArrowUp', 'ArrowLeft', 'PageUp', 'ArrowDown', 'b', 'PageUp', ' ', 'Enter', 'PageDown', '.', 'ArrowRight', 'PageUp'];
  const stretch = await press(server, page);
  const end_ms = Date.now() + MASH_S * 1000;
  const errors = [];
  for (let i = 0; Date.now() < end_ms; i += 1) {
    await page.keyboard.press(keys[i % keys.length]);
    await stage.sleep(20 + (i * 37) % 120);
    if (Date.now() > stretch.ends_ms + 1000 && i % 50 === 0) {
      const seen = (await all(page)).filter((s) => s.glass_ms > stretch.ends_ms + 1000);
      await page.evaluate(() => { window.probe.splice(0, window.probe.length - 1); });
      errors.push(...seen.map((s) => s.glass_ms - s.stamp_ms - DELAY_MS));
      assert.deepEqual(seen.filter((s) => s.covered), [], 'the late picture is on');
    }
  }
  assert.equal(await page.evaluate(() => window.signs), 1, 'answered once');
  assert.ok(errors.length > (MASH_S - 8) * 20, `${errors.length} pictures`);
  const off = errors.filter((ms) => Math.abs(ms) > 150).length;
  assert.ok(Math.abs(median(errors)) < 60 && off < errors.length * 0.05, `the middle is ${median(errors)} ms off, ${off} of ${errors.length} by more than 150`);
  console.log(`  ${MASH_S} s: ${errors.length} late pictures, the middle ${median(errors).toFixed(1)} ms off, ${off} by more than 150`);
  // Who then waits is answered again.
  await stage.sleep(6000);
  await press(server, page);
  assertNoErrors(page);
}

async function fromTheRemote(browser) {
  const { server, page } = await ready(browser);
  const remote = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  const row = remote.locator('[data-number="1"]');
  const button = (name) => row.locator(`[data-ask="${name}"]`);
  const held = async () => (await all(page)).pop().strip_ms;
  await row.locator('.opened > summary').click();
  await stage.until('the row is filled', async () => await button('hold').innerText() === sentence('live-ask-hold'));
  await button('hold').click();
  await stage.until('it is held', async () => await said(page) === sentence('live-again-held'));
  await stage.sleep(1000);
  const first = await held();
  await stage.sleep(1500);
  assert.equal(await held(), first, 'it stays');
  assert.equal(await card(page), '');
  await button('step_back').click();
  await stage.until('the one before', async () => await held() < first);
  assert.ok(first - await held() < 70, 'one picture');
  await button('step_on').click();
  await stage.until('the one after', async () => await held() === first);
  await button('step_on').click();
  await stage.until('there is none', async () => await row.locator('.again-said').innerText() === sentence('live-asked-no-step'));
  assert.equal(await card(page), '');
  await page.screenshot({ path: path.join(stage.root, 'tests/out/again-held.png') });
  await remote.screenshot({ path: path.join(stage.root, 'tests/out/again-remote.png'), fullPage: true });
  await page.evaluate(() => { window.probe.length = 0; });
  await button('hold').click();
  await stage.until('it goes on', async () => await said(page) === '');
  const on_ms = Date.now();
  await assertBack(page, on_ms);

  await button('again').click();
  await stage.until('what came of it', async () => await row.locator('.again-said').innerText() === sentence('live-asked-again'));
  await stage.until('it is on the screen', async () => await said(page) === sentence('live-again-again'));
  await row.locator('.setup summary').click();
  await row.locator('.attempt-more').click();
  await stage.until('a second more', async () => (await info(server.base)).attempt_s === ATTEMPT_S + 1);
  await stage.until('and it says so', async () => await row.locator('.attempt-is').innerText() === sentence('live-attempt', { seconds: ATTEMPT_S + 1 }));
  assertNoErrors(remote);
  assertNoErrors(page);
}

async function looked(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, attempt_s: 4, url: camera.url, screen: 'approach_cm = 300' }], { top: `units_dir = "${UNITS}"` });
  const shows = (what, sign) => async (page) => {
    // What is still held from the page before stands: no picture of it comes new.
    await ask(server.base, 'go_on');
    await picture(page);
    // Not one that was asked for before, and is about to end.
    await stage.until('it is answered', async () => {
      const { answer } = await ask(server.base, what);
      if (answer !== 'done' && what === 'hold') await ask(server.base, 'go_on');
      return answer === 'done';
    }, { within_ms: 30000, every_ms: 300 });
    await stage.until('the sign', () => page.evaluate((s) => document.querySelector('#tv').dataset.again === s, sign));
    await stage.sleep(700);
  };
  for (const patch of [{ grade: null }, { grade: 1 }, { grade: 3 }, { grade: 3, look: 'bright' }]) {
    const { status } = await stage.api(server.base, '/api/showing', json('PATCH', patch));
    assert.equal(status, 200);
    const name = `again-${patch.grade === null ? 'bare' : patch.grade}${patch.look || ''}`;
    await look(browser, server.base, '/tv/1', [[1920, 1080]], { name, ready: shows('again', 'again') });
  }
  await look(browser, server.base, '/tv/1', [[1280, 720], [390, 844]], { name: 'again-hold', ready: shows('hold', 'held') });
}

export const tests = [
  ['once more: the last attempt at half speed, then the late picture', onceMore],
  ['once more on a screen that has none of it', aScreenThatHasNoneOfIt],
  ['once more: what is hidden in the middle is not seen', hiddenInTheMiddle],
  ['once more: another delay in the middle', anotherDelayInTheMiddle],
  ['once more: a key that is mashed leaves the late picture on', mashed],
  ['once more, held and stepped from the remote', fromTheRemote],
  ['once more looks', looked],
];
