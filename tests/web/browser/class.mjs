// A class on the glass: no class, no picture; nothing while it waits; a covered
// group is never seen, read off the strip in the picture.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertNoErrors, card, picture, sentence } from './seen.mjs';

/** From a press to the last picture it forbids. */
const WITHIN_MS = stage.bound(500, 1000);
/** A picture on its way in, and the step of a strip. */
const EDGE_MS = 100;

async function shown(page) {
  const seen = await page.evaluate(() => window.probe.slice());
  return seen.filter((s) => !s.covered && s.strip_ms !== null);
}

const info = async (base) => (await stage.api(base, '/api/stations/1')).body;

async function noClassNoCamera(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }], { lesson: false });
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await stage.until('it says that there is no class', async () => (await card(page)) === sentence('live-camera-off'));
  await stage.sleep(1500);
  assert.equal((await info(server.base)).newest_us, null, 'nothing is captured');
  await stage.startClass(server.base);
  await picture(page);
  assert.match(await page.innerText('#class'), /^Warm-up 1[78]\d:\d\d$/);
  const asked_ms = Date.now();
  await stage.press(server.base, { press: 'end' });
  await stage.until('it says so again', async () => (await card(page)) === sentence('live-camera-off'), { within_ms: 4000 });
  await stage.sleep(1500);
  assert.deepEqual((await shown(page)).filter((s) => s.glass_ms > asked_ms + WITHIN_MS), []);
  const { newest_us, ring_bytes, camera: after } = await info(server.base);
  assert.deepEqual([newest_us, ring_bytes, after.state], [null, 0, 'off'], 'the ring is wiped');
  assertNoErrors(page);
}

async function whileItWaits(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }]);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(page);
  for (const hold of ['freeze', 'dark', 'leave', 'accident']) {
    await page.evaluate(() => { window.probe.length = 0; });
    const asked_ms = Date.now();
    await stage.press(server.base, { press: 'hold', hold });
    await stage.until(hold, () => page.evaluate((kind) => document.querySelector('#card').dataset.kind === kind
      && !document.querySelector('#card').hidden, hold), { within_ms: WITHIN_MS + 1000, every_ms: 10 });
    await stage.sleep(WITHIN_MS + 700);
    assert.deepEqual((await shown(page)).filter((s) => s.glass_ms > asked_ms + WITHIN_MS), [], hold);
    assert.equal(await card(page), hold === 'dark' ? '' : sentence(`live-card-${hold}`));
    const off = hold === 'leave' || hold === 'accident';
    assert.equal((await info(server.base)).camera.state === 'off', off, hold);
    await stage.press(server.base, { press: 'resume', hold });
    await picture(page, 12000);
    if (off) assert.ok((await shown(page)).every((s) => s.glass_ms < asked_ms + WITHIN_MS || s.strip_ms > asked_ms), 'wiped');
  }
  await stage.press(server.base, { press: 'hold', hold: 'pause' });
  await stage.sleep(1000);
  assert.equal(await card(page), '', 'a pause leaves the pictures');
  assert.match(await page.innerText('#class'), /waiting/);
  assertNoErrors(page);
}

async function coveredGroup(browser) {
  const cameras = [await stage.startCamera(), await stage.startCamera()];
  const server = await stage.startServer(cameras.map(({ url }, i) => ({
    number: i + 1, title: `Station ${i + 1}`, delay_ms: 2000, url,
  })), { lesson: false });
  const times = { warm_up_s: 0, briefing_s: 0, work_s: 20, last_turn_s: 4, gather_s: 2, walk_s: 4, closing_s: 10 };
  const { now } = await stage.startClass(server.base, { times });
  const began_ms = now.class.time.ends_us / 1000 - 20000;
  const pages = [];
  for (const n of [1, 2]) pages.push(await stage.openPage(browser, `${server.base}/tv/${n}`, { init: probe }));
  for (const page of pages) await picture(page);
  await stage.sleep(began_ms + 13000 - Date.now());
  assert.ok((await shown(pages[0])).length > 0, 'it is seen before');
  await stage.press(server.base, { press: 'cover_group', group: 1 });
  const pressed_ms = Date.now();
  // Work until 20 s, gather until 22, walk until 26, settled at 31 s.
  await stage.sleep(began_ms + 37000 - Date.now());
  const seen = [await shown(pages[0]), await shown(pages[1])];
  const taken = (list, from_s, to_s) => list.filter((s) => s.glass_ms > pressed_ms + WITHIN_MS
    && s.strip_ms > began_ms + from_s * 1000 + EDGE_MS && s.strip_ms < began_ms + to_s * 1000 - EDGE_MS);
  assert.deepEqual(taken(seen[0], 0, 31), [], 'where it was: not before, during or after the change');
  assert.deepEqual(taken(seen[1], 22, 31), [], 'where it goes: not on its way');
  assert.ok(taken(seen[1], 12, 22).length > 20, 'the other group is seen meanwhile');
  for (const list of seen) assert.ok(taken(list, 31, 37).length > 20, 'and once it has left, all are');
  pages.forEach((page) => assertNoErrors(page));
}

async function fromTheRemote(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }], { lesson: false });
  const open = () => stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  const [phone, tablet] = [await open(), await open()];
  const says = (page, id, pattern) => stage.until(`${id}: ${pattern}`, async () => pattern.test((await page.innerText(id)).replace(/\s+/g, ' ')));
  await says(phone, '#class', /No class/);
  await phone.waitForSelector('#start-groups button');
  await phone.click('#start .go-button');
  await says(phone, '#start-said', /Which class/);
  await phone.fill('#start-class', '3B');
  await phone.fill('#start-children', '11');
  await phone.press('#start-children', 'Tab');
  assert.equal(await phone.getAttribute('[data-grade="3"]', 'aria-pressed'), 'true', '3B is a third grade');
  await phone.click('#start .go-button');
  await says(phone, '#start-said', /not to be shown/);
  assert.equal(await phone.getAttribute('[data-group="1"]', 'aria-pressed'), 'true', 'covered, unless somebody says otherwise');
  await phone.click('#start-all-shown');
  await phone.click('#start .go-button');
  await says(phone, '#class', /^3B Warm-up/);
  await says(tablet, '#class', /^3B Warm-up/);
  assert.equal((await stage.api(server.base, '/api/showing')).body.grade, 3, 'the screens are for its grade');
  await phone.click('[data-press="accident"]');
  await says(phone, '#class-note', /nothing is being kept/);
  await phone.click('[data-where="1"]');
  await says(phone, '#noted', /station 1, Low beam/);
  // The other remote knows, and lifts it.
  await says(tablet, '[data-press="accident"]', /after the accident/);
  await tablet.click('[data-press="accident"]');
  await says(phone, '[data-press="accident"]', /^Accident$/);
  await phone.click('[data-press="next"]');
  await says(tablet, '#class', /^3B Listen/);
  await tablet.click('#ending summary');
  await tablet.click('[data-press="end"]');
  await says(phone, '#class', /No class/);
  // It is offered again, with nothing left to say.
  await says(phone, '#start-known', /3B/);
  await stage.until('as it was', () => phone.inputValue('#start-children').then((n) => n === '11'));
  await phone.click('#start .go-button');
  await says(tablet, '#class', /^3B/);
  [phone, tablet].forEach((page) => assertNoErrors(page));
}

async function lostNetwork(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  const phone = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  await stage.until('the class', () => phone.isVisible('#presses'));
  await phone.context().setOffline(true);
  await phone.click('[data-press="freeze"]');
  await stage.until('it says so at the top', () => phone.isVisible('#notice'));
  await stage.until('the press is not lost silently', async () => (
    (await phone.innerText('#undone')).includes(sentence('live-undone-lost', { press: sentence('live-press-freeze') }))));
  await stage.until('old time is not shown as if it were so', async () => (await phone.innerText('#class-left')) === '');
  const before = await stage.api(server.base, '/api/class');
  assert.deepEqual(before.body.class.holds, [], 'it was not done');
  await phone.context().setOffline(false);
  await stage.until('it is back', async () => !(await phone.isVisible('#notice')));
  assert.match(await phone.innerText('#undone'), /Freeze/, 'and still says what was not done');
  await phone.click('.again');
  await stage.until('done', async () => (await stage.api(server.base, '/api/class')).body.class.holds.includes('freeze'));
  await stage.until('nothing is left to say', async () => (await phone.innerText('#undone')) === '');
  // A phone that slept shows at once what holds.
  const wake = await stage.sleepPages(browser);
  await stage.press(server.base, { press: 'resume', hold: 'freeze' });
  await stage.press(server.base, { press: 'next' });
  await stage.sleep(5000);
  wake();
  await stage.until('it has caught up', async () => /Work/.test(await phone.innerText('#class-phase')), { within_ms: 4000 });
}

export const tests = [
  ['no class, no camera', noClassNoCamera],
  ['a class that waits shows no picture anywhere', whileItWaits],
  ['a class from two remotes', fromTheRemote],
  ['a remote that lost its network loses no press', lostNetwork],
  ['a covered group is on no glass until it has left', coveredGroup],
];
