// A quiet class and a quiet station: no picture of themselves, the cue in its
// place; and the refinement of the day on the cards.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { ALL, out } from './photograph.mjs';
import { assertNoErrors, picture, sentence } from './seen.mjs';

const LONG = { warm_up_s: 900, briefing_s: 900, work_s: 900, last_turn_s: 20, gather_s: 900, walk_s: 900, closing_s: 900 };

/** Stations with the cameras of these; the others are away, so that the machine has little to do. */
async function gym(count, filmed) {
  const camera = await stage.startCamera();
  const stations = Array.from({ length: count }, (_, i) => ({
    number: i + 1, title: `Station ${i + 1}`, delay_ms: 2000, screen: 'approach_cm = 300',
    url: filmed.includes(i + 1) ? camera.url : 'rtsp://127.0.0.1:9/cam',
  }));
  return stage.startServer(stations, { lesson: false, top: `units_dir = "${path.join(stage.root, 'config/units')}"` });
}

const change = async (base, what) => assert.equal((await stage.postJson(base, '/api/class/changes', what)).status, 200);
const kind = (page) => page.evaluate(() => document.querySelector('#tv').dataset.card);
/** Bytes of pictures that arrive. */
function pictures(page) {
  const counted = { bytes: 0 };
  page.on('websocket', (socket) => socket.on('framereceived', ({ payload }) => {
    if (typeof payload !== 'string') counted.bytes += payload.length;
  }));
  return counted;
}

async function quiet(browser) {
  const { base } = await gym(2, [1, 2]);
  await stage.startClass(base, { grade: 4, groups: 2, children: 8, times: { ...LONG, warm_up_s: 0, briefing_s: 0 } });
  const page = await stage.openPage(browser, `${base}/tv/1`, { init: probe, viewport: { width: 1920, height: 1080 } });
  const counted = pictures(page);
  await page.reload();
  await picture(page);
  const other = await stage.openPage(browser, `${base}/tv/2`, { init: probe });
  await picture(other);
  assert.ok(counted.bytes > 0);
  const remote = await stage.openPage(browser, `${base}/remote`, { viewport: { width: 390, height: 844 } });
  await remote.click('[data-number="1"] .opened > summary');
  await remote.click(`[data-number="1"] button:has-text("${sentence('live-quiet-station', { station: 1 })}")`);
  await stage.until('the cue stands for the picture', async () => await kind(page) === 'quiet');
  await stage.sleep(1000);
  counted.bytes = 0;
  await stage.sleep(3000);
  assert.equal(counted.bytes, 0, 'no picture is even sent');
  assert.doesNotMatch(await page.innerText('#glass'), /not shown|no class|off/i, 'nothing says that anybody is hidden');
  assert.equal(await page.evaluate(() => document.querySelector('#card-shown svg') !== null), true);
  assert.equal(await kind(other), '', 'the other station goes on');
  await stage.until('the card says it', async () => /no picture/.test(await remote.innerText('[data-number="1"] .here')));
  await page.screenshot({ path: path.join(out, 'quiet-station.png') });
  await remote.screenshot({ path: path.join(out, 'quiet-remote.png'), fullPage: true });
  await remote.click(`[data-number="1"] button:has-text("${sentence('live-quiet-over', { station: 1 })}")`);
  await picture(page, 30000);

  await remote.click('#today > summary');
  await remote.click('label:has(#today-quiet)');
  await stage.until('every station', async () => await kind(page) === 'quiet' && await kind(other) === 'quiet');
  await stage.until('the tick stays', () => remote.isChecked('#today-quiet'));
  assert.equal((await stage.api(base, '/api/stations/1')).body.camera.state, 'off');
  [page, other, remote].forEach((one) => assertNoErrors(one));
}

async function today(browser) {
  const { base } = await gym(8, [2]);
  const remote = await stage.openPage(browser, `${base}/remote`, { viewport: { width: 390, height: 844 } });
  await stage.until('the start', () => remote.isVisible('#start-today > summary'));
  await remote.click('#start-today > summary');
  await remote.click('#start-refine [data-refine="hold_still"]');
  assert.equal(await remote.getAttribute('#start-refine [data-refine="hold_still"]', 'aria-pressed'), 'true');
  await remote.screenshot({ path: path.join(out, 'today-start.png'), fullPage: true });
  await stage.startClass(base, { grade: 4, children: 24, times: LONG, refine: 'hold_still' });
  const size = { viewport: { width: 1920, height: 1080 } };
  const pages = {};
  for (const lang of ['en', 'es']) {
    pages[`own-${lang}`] = await stage.openPage(browser, `${base}/tv/2?lang=${lang}`, size);
    pages[`hall-${lang}`] = await stage.openPage(browser, `${base}/hall?lang=${lang}`, size);
  }
  const choose = (patch) => stage.api(base, '/api/showing', { method: 'PATCH', headers: { 'content-type': 'application/json' }, body: JSON.stringify(patch) });
  const wrong = [];
  const photograph = async (state) => {
    // Words have their places in both looks; a look changes their colours, which other tests judge.
    const shown = [['text', 'dark'], ['picture', 'bright'], ['picture', 'dark'], ['text', 'bright']].slice(0, ALL ? 4 : 2);
    for (const [choice, look] of shown) {
      await choose({ choice, look });
      await stage.sleep(600);
      for (const [name, page] of Object.entries(pages)) {
        const full = `today-${name}-${state}-${choice}-${look}`;
        await page.screenshot({ path: path.join(out, `${full}.png`) });
        const cut = await page.evaluate(() => [...document.querySelectorAll('#scene, #scene p, #scene .does, #hall, #hall li, #hall p, #today-figure, #everybody')]
          .filter((e) => e.getClientRects().length && getComputedStyle(e).clip === 'auto')
          .filter((e) => {
            const box = e.getBoundingClientRect();
            return e.id === 'scene' && e.scrollHeight > e.clientHeight + 2 || box.right > innerWidth + 1 || box.bottom > innerHeight + 1;
          }).map((e) => e.id || e.className || e.tagName));
        wrong.push(...cut.map((part) => `${full}: ${part} is cut off`));
      }
    }
  };
  await photograph('begin');
  await stage.press(base, { press: 'next' });
  await stage.until('on the card', async () => /Land and hold still/.test(await pages['own-en'].innerText('#scene-today')));
  assert.match(await pages['hall-es'].innerText('#today'), /Cae y no te muevas/);
  await photograph('briefing');
  await stage.press(base, { press: 'next' });
  await stage.until('and not while they work', async () => !await pages['own-en'].isVisible('#scene-today') && !await pages['hall-en'].isVisible('#today'));
  await photograph('work');
  await stage.press(base, { press: 'next' });
  await photograph('gather');
  await stage.press(base, { press: 'next' });
  await photograph('walk');
  await remote.click('#today > summary');
  await remote.click('#today-refine [data-refine="tall"]');
  await remote.locator('#today').scrollIntoViewIfNeeded();
  await stage.press(base, { press: 'finish' });
  await stage.until('another one', async () => /Finish tall/.test(await pages['own-en'].innerText('#scene-today')));
  await photograph('closing');
  await remote.screenshot({ path: path.join(out, 'today-remote.png'), fullPage: true });
  assert.deepEqual(wrong, []);
  [remote, ...Object.values(pages)].forEach((page) => assertNoErrors(page));
}

export const tests = [
  ['a quiet station and a quiet class see the cue and no picture of themselves', quiet],
  ['the refinement of the day, in both looks', today],
];
