// The page of all figures: named, moved and stopped with the keyboard, still for
// who asked for less motion.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import * as stage from '../stage.mjs';
import { assertNoErrors } from './seen.mjs';

const ids = readFileSync(new URL('../../../web/figures/names.txt', import.meta.url), 'utf8').trim().split('\n');
const STATION = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }];

/** What is drawn of a figure now. */
const drawn = (page, id) => page.$eval(`[data-figure="${id}"] svg`, (svg) => svg.innerHTML);

async function keyboard(browser) {
  const { base } = await stage.startServer(STATION);
  for (const [lang, name] of [['en', 'Forward roll'], ['es', 'Rodada adelante']]) {
    const page = await stage.openPage(browser, `${base}/figures?lang=${lang}`);
    assert.deepEqual(await page.$$eval('[data-figure]', (all) => all.map((one) => one.dataset.figure)), ids);
    const names = await page.$$eval('[data-figure]', (all) => all.map((one) => one.textContent));
    assert.ok(names.includes(name) && !names.some((one) => one.includes('live-')), names.join());
    const still = await drawn(page, 'swing');
    await page.focus('[data-figure="swing"]');
    await page.keyboard.press('Enter');
    await stage.until('the figure moves', async () => (await drawn(page, 'swing')) !== still);
    await page.keyboard.press('Space');
    await stage.until('the figure stands', async () => (await drawn(page, 'swing')) === still);
    assertNoErrors(page);
    await page.context().close();
  }
}

async function lessMotion(browser) {
  const { base } = await stage.startServer(STATION);
  const page = await stage.openPage(browser, `${base}/figures`, { reducedMotion: 'reduce' });
  const still = await drawn(page, 'swing');
  await page.click('#move');
  await stage.sleep(500);
  assert.equal(await drawn(page, 'swing'), still);
  assertNoErrors(page);
}

export const tests = [
  ['figures are named, and move and stop by keyboard', keyboard],
  ['figures stand still for who asked for less motion', lessMotion],
];
