// Coming in: the first passphrase, a screen that is let in and sent away.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { glass, lastSeen } from '../glass.mjs';
import { startGoBetween } from '../go-between.mjs';
import { assertLate, assertNoErrors, picture, seenFor, sentence } from './seen.mjs';

const WORDS = 'wide mat, low beam';
/** A page that is sent elsewhere meets refusals on its way. */
const REFUSED = /status of 40[13]|WebSocket connection .* failed/;

/** What was on the glass outlives the page that showed it. */
const keepGlass = () => addEventListener('pagehide', () => {
  if (window.glass) sessionStorage.setItem('glass', JSON.stringify({ record: window.glass, until_ms: Date.now() }));
});
const INIT = { content: `(${probe})(); (${glass})(); (${keepGlass})();` };
/** From the press to the last picture on the glass, what was on its way included. */
const WITHIN_MS = stage.bound(500, 1000);

/** The teacher lets a TV in that shows a code, and it shows its picture. */
async function letIn(phone, tv) {
  await tv.waitForURL('**/pair');
  const shown = await stage.until('a code', async () => /^\w{3} \w{3}$/.exec((await tv.innerText('#code')).trim()));
  await phone.fill('#code', shown[0]);
  await phone.selectOption('#station', '1');
  await phone.click('form:has(#code) button');
  await stage.until('it is let in', async () => (await phone.innerText('.notice')) === sentence('screens-let-in'));
  await tv.waitForURL('**/tv/1');
  await picture(tv);
}

/** The teacher removes the one TV; when that was done. */
async function remove(phone) {
  await phone.goto(phone.url());
  await phone.locator('.let-in li', { hasText: 'Screen of station 1' }).locator('button').click();
  const done_ms = Date.now();
  assert.equal(await phone.innerText('.notice'), sentence('screens-removed'));
  return done_ms;
}

/** No picture was on a glass after it had to be gone. */
async function assertGone(tv, gone_ms) {
  const { record, until_ms } = await tv.evaluate(() => JSON.parse(sessionStorage.getItem('glass')));
  const last_ms = lastSeen(record, () => true, until_ms);
  assert.ok(last_ms > gone_ms - 3000, 'there was one before');
  assert.ok(last_ms - gone_ms <= WITHIN_MS, `a picture was seen ${last_ms - gone_ms} ms later`);
}

async function removedAcrossAStall(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }], { door: 'sign-in' });
  const line = await startGoBetween(server.port);
  try {
    const phone = await stage.openPage(browser, `${server.base}/screens`);
    await stage.until('the code on the console', () => /type this code: (\w+)/.test(server.child.said));
    await phone.fill('#code', /type this code: (\w+)/.exec(server.child.said)[1]);
    await phone.fill('#passphrase', WORDS);
    await phone.fill('#again', WORDS);
    await phone.click('button[type=submit]');
    await phone.waitForURL('**/screens');
    const tv = await stage.openPage(browser, `${line.base}/tv/1`, { init: INIT });
    await letIn(phone, tv);
    await stage.sleep(1500);
    line.stall();
    const gone_ms = await remove(phone);
    // Longer than the two seconds that the screen still holds.
    await stage.sleep(2500);
    line.run();
    await tv.waitForURL('**/pair', { timeout: 20000 });
    await assertGone(tv, gone_ms);
    assertNoErrors(phone, REFUSED);
  } finally {
    line.end();
  }
}

async function letInAndSentAway(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url },
    { number: 2, title: 'Box jump', delay_ms: 2000, seed: 2 },
  ], { door: 'sign-in' });
  // The teacher, on a phone.
  const phone = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  await stage.until('the code on the console', () => /type this code: (\w+)/.test(server.child.said));
  const [, code] = /type this code: (\w+)/.exec(server.child.said);
  await phone.fill('#code', code.toLowerCase());
  await phone.fill('#passphrase', WORDS);
  await phone.fill('#again', WORDS);
  await phone.click('button[type=submit]');
  await phone.waitForURL('**/remote');
  await phone.click('a[href="/screens"]');

  const start = stage.classToStart();
  const started = await phone.evaluate(async (body) => (await fetch('/api/class/start', { method: 'POST', body })).status, start);
  assert.equal(started, 200);

  // A TV that nobody knows.
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: INIT });
  await letIn(phone, tv);
  await stage.sleep(1500);
  assertLate(await seenFor(tv, 1500), 2000);
  assertNoErrors(tv, REFUSED);

  // Another station is none of its business.
  const beside = await tv.context().newPage();
  const reply = await beside.goto(`${server.base}/tv/2`);
  assert.equal(reply.status(), 403);
  await beside.close();

  // Sent away.
  const gone_ms = await remove(phone);
  await tv.waitForURL('**/pair', { timeout: 3000 });
  await assertGone(tv, gone_ms);
  const again = await tv.goto(`${server.base}/tv/1`);
  assert.match(again.url(), /pair$/);
  assertNoErrors(phone, REFUSED);
}

async function wrongPassphrase(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  const page = await (await browser.newContext()).newPage();
  await page.goto(`${server.base}/remote`);
  await page.fill('#passphrase', 'not the passphrase');
  await page.click('form:has(#passphrase) button');
  assert.equal(await page.innerText('.notice'), sentence('sign-in-wrong'));
  await page.goto(`${server.base}/sign-in?lang=es`);
  assert.match(await page.innerText('h1'), /Iniciar sesión/);
}

export const tests = [
  ['a screen is let in, shows its station and nothing else, and is sent away', letInAndSentAway],
  ['a screen that is removed while its line stalls shows nothing more either', removedAcrossAStall],
  ['a wrong passphrase is said where it was typed', wrongPassphrase],
];
