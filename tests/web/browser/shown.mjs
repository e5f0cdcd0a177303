// A class that the list of children does not know: a helper starts it and every
// screen is covered; the teacher says who is not to be seen, and all others are
// shown.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { inTurns, photograph } from './photograph.mjs';
import { assertNoErrors, picture, sentence } from './seen.mjs';

const PIN = '271846';
const SIZES = { phone: { width: 390, height: 844 }, desktop: { width: 1280, height: 800 } };

/** A phone that is signed in with the helpers' PIN. */
async function helpersPhone(browser, base, options) {
  const set = await stage.post(base, '/screens', new URLSearchParams({ do: 'set-pin', pin: PIN }));
  assert.equal(set.status, 200);
  const context = await browser.newContext(options);
  const page = await context.newPage();
  page.errors = [];
  page.on('pageerror', (error) => page.errors.push(String(error)));
  await page.goto(`${base}/sign-in?to=/remote`);
  await page.fill('#pin', PIN);
  await page.locator('form:has(#pin) button').click();
  await page.waitForURL('**/remote');
  return page;
}

async function teachersWord(browser) {
  const stations = [
    { number: 1, title: 'Low beam', delay_ms: 1000, seed: 1 },
    { number: 2, title: 'Wide mat', delay_ms: 1000, seed: 2 },
  ];
  const server = await stage.startServer(stations, { lesson: false });
  const helper = await helpersPhone(browser, server.base, { viewport: SIZES.phone });
  await helper.fill('#start-class', 'Rainy day');
  await helper.locator('#start .go-button').click();
  const why = sentence('live-not-known-empty');
  await stage.until('the helper is told', async () => (await helper.innerText('#not-known')) === `${why} ${sentence('live-not-known-ask')}`);
  assert.equal(await helper.locator('#shown').count(), 0, 'and cannot say who is seen');

  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  const covered = async () => {
    const { body } = await stage.api(server.base, '/api/class');
    return body.class.groups.filter((group) => group.covered).map((group) => group.group);
  };
  const { body } = await stage.api(server.base, '/api/class');
  assert.deepEqual(await covered(), body.class.groups.map((group) => group.group), 'every group');

  for (const [language, size] of inTurns(Object.keys(SIZES))) {
    const page = await stage.openPage(browser, `${server.base}/remote?lang=${language}`, { viewport: SIZES[size] });
    await stage.until('why', async () => (await page.innerText('#not-known')) !== '');
    await photograph(page, `not-known-${size}-${language}`);
    await page.context().close();
  }

  const teacher = await stage.openPage(browser, `${server.base}/remote`, { viewport: SIZES.phone });
  await stage.until('the teacher is told', async () => (await teacher.innerText('#not-known')) === `${why} ${sentence('live-not-known-say')}`);
  const groups = teacher.locator('#shown-groups [aria-pressed="true"]');
  assert.equal(await groups.count(), body.class.groups.length, 'all are pressed');
  for (const group of body.class.groups.slice(1)) await teacher.locator(`[data-shown-group="${group.group}"]`).click();
  await teacher.click('#shown-go');
  await stage.until('it is done', async () => (await teacher.innerText('#shown-said')) === sentence('live-shown-some', { groups: '1' }));
  await stage.until('nothing more is said', async () => (await teacher.innerText('#not-known')) === '');
  assert.ok((await covered()).includes(1));
  await teacher.locator('[data-shown-group="1"]').click();
  await teacher.click('#shown-go');
  await stage.until('all are shown', async () => (await covered()).length === 0);
  await picture(tv);
  await stage.until('the helper hears of it', async () => (await helper.innerText('#not-known')) === '');
  [helper, teacher, tv].forEach((page) => assertNoErrors(page));
}

export const tests = [
  ['a class the list does not know is covered until the teacher says who may be seen', teachersWord],
];
