// The delayed view as a child sees it.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertLate, assertNoErrors, assertNotReloaded, card, mark, picture, seenFor } from './seen.mjs';

const init = probe;

async function one(delay_ms) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms, url: camera.url }]);
  return { camera, server };
}

async function late(browser, query, more = {}) {
  const { server } = await one(2000);
  await stage.learned(server.base);
  const page = await stage.openPage(browser, `${server.base}/tv/1${query}`, { init, ...more });
  await picture(page);
  await stage.sleep(1500);
  assertLate(await seenFor(page, 3000), 2000);
  assertNoErrors(page);
  return { page, server };
}

async function countdown(browser) {
  const { server } = await one(5000);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init });
  const shown = await stage.until('a count', async () => /(\d+) s/.exec(await card(page)));
  assert.ok(Number(shown[1]) >= 1 && Number(shown[1]) <= 6, shown[0]);
  await picture(page);
  assert.equal(await card(page), '');
  assertLate(await seenFor(page, 2000), 5000);
}

async function smallest(browser) {
  const { server } = await one(2000);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init });
  await picture(page);
  await mark(page);
  await stage.setDelay(server.base, 1, 0);
  await stage.until('it says so', async () => /nearly live/.test(await page.innerText('#late')));
  await stage.sleep(1500);
  const seen = await seenFor(page, 2000);
  assert.ok(seen.length > 20 && seen.every((s) => !s.covered), 'pictures go on');
  assert.ok(seen.every((s) => s.glass_ms - s.stamp_ms < 1000), 'and are less than a second old');
  await assertNotReloaded(page);
}

async function wrongClock(browser) {
  const shifted = `(() => {
    const hours = 5 * 3600 * 1000;
    const RealDate = Date;
    const now = () => RealDate.now() + hours;
    window.Date = class extends RealDate {
      constructor(...args) { if (args.length) super(...args); else super(now()); }
      static now() { return now(); }
    };
  })(); (${probe})();`;
  await late(browser, '', { init: { content: shifted } });
}

async function asleep(browser) {
  const { page } = await late(browser, '');
  await mark(page);
  await page.evaluate(() => {
    let last = performance.now();
    window.longest = 0;
    setInterval(() => {
      window.longest = Math.max(window.longest, performance.now() - last);
      last = performance.now();
    }, 100);
  });
  const wake = await stage.sleepPages(browser);
  await stage.sleep(6000);
  wake();
  await stage.until('it really slept', () => page.evaluate(() => window.longest > 5000));
  await picture(page, 8000);
  await stage.sleep(1500);
  assertLate(await seenFor(page, 2000), 2000);
  await assertNotReloaded(page);
}

/**
 * Makes every page of this tab one of another build, before its script looks.
 * Not by altering the answer: Chromium does not know where a page came from
 * that the test answered, and keeps it from the network.
 */
function alterBuild() {
  new MutationObserver(() => {
    const meta = document.querySelector('meta[name="afterturn-build"]');
    if (meta) meta.content = 'of-yesterday';
  }).observe(document, { childList: true, subtree: true });
}

async function otherBuild(browser) {
  const { server } = await one(2000);
  await stage.learned(server.base);
  const page = await (await browser.newContext()).newPage();
  let loads = 0;
  page.on('load', () => { loads += 1; });
  await page.addInitScript(`(${alterBuild})(); (${probe})();`);
  await page.goto(`${server.base}/tv/1`);
  await stage.until('a reload', () => loads >= 2);
  await stage.sleep(4000);
  assert.equal(loads, 2, 'one reload, never a loop');
  assert.equal(await page.getAttribute('meta[name="afterturn-build"]', 'content'), 'of-yesterday');
  await picture(page);
  assertLate(await seenFor(page, 1500), 2000);
}

export const tests = [
  ['the late picture, steered by what is on the glass', (browser) => late(browser, '')],
  ['the late picture, for browsers that cannot say what is on the glass', (browser) => late(browser, '?tier=b')],
  ['a friendly count while the ring fills, then the picture', countdown],
  ['a delay of nothing shows pictures as soon as they can be', smallest],
  ['a device whose clock is hours wrong', wrongClock],
  ['a page that slept for six seconds', asleep],
  ['a page of another build reloads once', otherBuild],
];
