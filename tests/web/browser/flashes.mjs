// Nothing flashes: a whole class is filmed from a TV and a board of the hall, with
// everything pressed that covers or turns a screen, and counted.

import assert from 'node:assert/strict';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { mostFlashes } from '../flashes.mjs';
import { assertNoErrors } from './seen.mjs';

const COLUMNS = 48;
const ROWS = 27;
const AT_ONCE = 40;
/** WCAG 2.2, 2.3.1. */
const MOST = 3;
const TIMES = { warm_up_s: 3, briefing_s: 3, work_s: 8, last_turn_s: 3, gather_s: 4, walk_s: 4, closing_s: 4 };

/** Films a page; what it returns ends that and gives the pictures, a few bytes each. */
async function film(page, eye) {
  const cdp = await page.context().newCDPSession(page);
  const taken = [];
  cdp.on('Page.screencastFrame', ({ data, metadata, sessionId }) => {
    taken.push({ data, ms: metadata.timestamp * 1000 });
    cdp.send('Page.screencastFrameAck', { sessionId }).catch(() => {});
  });
  await cdp.send('Page.startScreencast', { format: 'jpeg', quality: 60, maxWidth: 480, maxHeight: 270, everyNthFrame: 1 });
  return async () => {
    await cdp.send('Page.stopScreencast');
    const frames = [];
    // Many at a time: asking takes longer than looking.
    for (let from = 0; from < taken.length; from += AT_ONCE) {
      const some = taken.slice(from, from + AT_ONCE);
      const seen = await eye.evaluate(async ([jpegs, columns, rows]) => Promise.all(jpegs.map(async (jpeg) => {
        const bytes = Uint8Array.from(atob(jpeg), (c) => c.charCodeAt(0));
        const picture = await createImageBitmap(new Blob([bytes], { type: 'image/jpeg' }),
          { resizeWidth: columns, resizeHeight: rows, resizeQuality: 'medium' });
        const canvas = new OffscreenCanvas(columns, rows);
        const drawing = canvas.getContext('2d', { willReadFrequently: true });
        drawing.drawImage(picture, 0, 0);
        // As text: a list of numbers goes out of a page far more slowly.
        return btoa(String.fromCharCode(...drawing.getImageData(0, 0, columns, rows).data));
      })), [some.map((one) => one.data), COLUMNS, ROWS]);
      seen.forEach((text, i) => frames.push({ ms: some[i].ms, pixels: [...Buffer.from(text, 'base64')] }));
    }
    return frames;
  };
}

async function nothingFlashes(browser) {
  const eye = await (await browser.newContext()).newPage();
  // That this way of looking sees a flash at all.
  const blink = await (await browser.newContext({ viewport: { width: 960, height: 540 } })).newPage();
  const blinked = await film(blink, eye);
  await blink.evaluate(() => {
    let on = false;
    setInterval(() => { on = !on; document.body.style.background = on ? '#fff' : '#000'; }, 100);
  });
  await stage.sleep(4000);
  const known = mostFlashes(await blinked(), COLUMNS, ROWS);
  assert.ok(known > MOST, `a flash is seen: ${known}`);
  await blink.context().close();

  const camera = await stage.startCamera();
  const stations = [1, 2].map((number) => ({ number, title: `Station ${number}`, delay_ms: 2000, url: camera.url }));
  const { base } = await stage.startServer(stations, { lesson: false, top: `units_dir = "${path.join(stage.root, 'config/units')}"` });
  const size = { viewport: { width: 960, height: 540 } };
  const pages = { tv: await stage.openPage(browser, `${base}/tv/1`, size), hall: await stage.openPage(browser, `${base}/hall`, size) };
  const films = {};
  for (const [name, page] of Object.entries(pages)) films[name] = await film(page, eye);
  await stage.startClass(base, { times: TIMES, grade: 4, groups: 2, children: 8, refine: 'hold_still' });
  await stage.sleep(9000);
  for (const hold of ['pause', 'freeze', 'dark', 'leave', 'accident']) {
    await stage.press(base, { press: 'hold', hold });
    await stage.sleep(1200);
    await stage.press(base, { press: 'resume', hold });
    await stage.sleep(1200);
  }
  for (const on of [true, false]) {
    await stage.postJson(base, '/api/class/changes', { change: 'quiet', on });
    await stage.sleep(1200);
  }
  await stage.until('the class is over', async () => (await stage.api(base, '/api/class')).body.class === null, { within_ms: 90000, every_ms: 500 });
  await stage.sleep(700);
  for (const [name, end] of Object.entries(films)) {
    const frames = await end();
    const most = mostFlashes(frames, COLUMNS, ROWS);
    const s = (frames[frames.length - 1].ms - frames[0].ms) / 1000;
    console.log(`       ${name}: ${frames.length} pictures of ${s.toFixed(0)} s, at most ${most} flashes in a second`);
    assert.ok(frames.length > 20, `${name} was filmed`);
    assert.ok(most <= MOST, `${name}: ${most} flashes in a second`);
    assertNoErrors(pages[name]);
  }
}

export const tests = [['nothing flashes through a whole class', nothingFlashes]];
