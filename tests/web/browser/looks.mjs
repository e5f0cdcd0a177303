// How pages look: every page at its sizes and in both languages, without violations
// of WCAG 2.2 AA that axe-core can find, kept as pictures to be looked at in
// tests/out/.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { inTurns, out, photograph } from './photograph.mjs';
import { assertNoErrors, picture } from './seen.mjs';

const TV = [[1920, 1080], [1280, 720], [3840, 2160]];
const DESK = [[390, 844], [1024, 768], [1920, 1080]];

/** Nothing sticks out of a page that does not scroll, with the widest code there is. */
async function assertFits(page, name) {
  const out_of = await page.evaluate(() => {
    document.querySelector('#code').textContent = 'WWW WWW';
    const boxes = [...document.querySelectorAll('#pair *')].map((one) => [one.id, one.getBoundingClientRect()]);
    return boxes.filter(([, box]) => box.left < 0 || box.top < 0 || box.right > innerWidth || box.bottom > innerHeight).map(([id]) => id);
  });
  assert.deepEqual(out_of, [], `${name} shows all of these`);
}

/** `ready` brings a page where it is to be looked at. */
export async function look(browser, base, route, sizes, {
  filling = false, name: called = '', ready = null, whole = false, hash = '', fine = /status of 40[14]/,
} = {}) {
  for (const [lang, [width, height]] of inTurns(sizes)) {
    const page = await stage.openPage(browser, `${base}${route}?lang=${lang}${hash}`, {
      viewport: { width, height },
      init: probe,
      // The page's own policy forbids scripts from elsewhere, axe's included.
      bypassCSP: true,
    });
    const name = `${called || route.replace(/\W+/g, '-').replace(/^-|-$/g, '') || 'home'}${filling ? '-filling' : ''}-${lang}-${width}`;
    if (ready) await ready(page);
    else if (route.startsWith('/tv') && !filling) await picture(page);
    else await stage.sleep(1200);
    assert.equal(await page.evaluate(() => document.documentElement.lang), lang);
    if (route === '/pair') await assertFits(page, name);
    await photograph(page, name, { whole: whole || hash !== '' });
    // The one that is not there is meant to answer so.
    assertNoErrors(page, fine);
    await page.context().close();
  }
}

async function everyPage(browser) {
  const { base } = await stage.startDemo();
  await look(browser, base, '/tv/1', TV.slice(0, 1), { filling: true });
  await look(browser, base, '/', DESK);
  await look(browser, base, '/remote', DESK);
  await look(browser, base, '/no-such-page', DESK);
  await look(browser, base, '/tv/1', TV);
  await look(browser, base, '/tv/2', TV.slice(0, 1));
}

async function unitPage(browser) {
  const { base } = await stage.startDemo();
  await look(browser, base, '/unit', DESK);
  // A station open, with a mistake in it.
  const ready = async (page) => {
    await page.click('[id="part-station.beam"] summary');
    await page.fill('[id="field-station.beam.title.en"]', '');
    await stage.until('the mistake', () => page.isVisible('.mistake'));
    await page.evaluate(() => window.scrollTo(0, 0));
  };
  await look(browser, base, '/unit', DESK.slice(0, 1), { name: 'unit-open', ready });
}

async function doorPages(browser) {
  const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }, { number: 2, title: 'Box jump', delay_ms: 2000, seed: 2 }];
  const address = `127.0.0.${2 + (process.pid % 200)}`;
  const first = await stage.startServer(stations, {
    top: `[https]\nlisten = "${address}:8443"\n[plain_screens]\nlisten = "${address}:8480"`, door: 'sign-in',
  });
  await look(browser, first.base, '/sign-in', DESK, { name: 'first-passphrase' });
  await look(browser, first.base, '/', DESK.slice(0, 1), { name: 'strangers' });
  const PAIR = [[1920, 1080], [480, 270], [1024, 768], [390, 844]];
  await look(browser, `http://${address}:8480`, '/pair', PAIR);
  const { base } = await stage.startServer(stations);
  await look(browser, base, '/sign-in', DESK.slice(0, 1));
  // Not on the network: a code and nothing to photograph.
  await look(browser, base, '/pair', PAIR.slice(0, 1), { name: 'pair-alone' });
  await look(browser, base, '/screens', DESK);
  await look(browser, base, '/figures', DESK, { whole: true });
  await look(browser, base, '/screens', DESK.slice(0, 2), { name: 'screens-photographed', hash: '#K7MX4P' });
}

async function awayCard(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: 'rtsp://127.0.0.1:9/cam' }]);
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { viewport: { width: 1920, height: 1080 } });
  await stage.until('the card', () => page.evaluate(() => document.querySelector('#card').dataset.kind === 'camera'));
  await page.screenshot({ path: path.join(out, 'tv-1-away-en-1920.png') });
  // A capital of 1/200 of six metres is 30 mm (FAA's rule of 1/200 of the distance);
  // on a 43-inch screen, 535 mm high, that is a 5.6 % cap, 7.8 % of letter height.
  const size = await page.evaluate(() => parseFloat(getComputedStyle(document.querySelector('#card-words')).fontSize));
  assert.ok(size / 1080 >= 0.078, `the card's letters are ${size} px of 1080`);
}

export const tests = [
  ['every page, every size, both languages', everyPage],
  ['the editor of a unit, open and closed', unitPage],
  ['the pages of the door', doorPages],
  ['the card of a camera that is away can be read from six metres', awayCard],
];
