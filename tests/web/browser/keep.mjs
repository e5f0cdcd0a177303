// From the mat to the stick: a station's mat is drawn, a clip and a still of one
// child are chosen, looked at and kept, found again, handed to the family, opened
// without the box, and taken back by a no. At the sizes of a laptop and a phone,
// in both languages, every page without violations that axe-core can find, kept as
// pictures in tests/out/.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import * as stage from '../stage.mjs';
import { photograph } from './photograph.mjs';
import { assertNoErrors } from './seen.mjs';

/** Everybody has settled ten seconds after the start. */
const TIMES = { warm_up_s: 0, briefing_s: 0, work_s: 3600, last_turn_s: 20, gather_s: 10, walk_s: 5, closing_s: 0 };

class Walk {
  constructor(page, server, called) {
    Object.assign(this, { page, server, called });
  }

  look(name) {
    return photograph(this.page, `keep-${name}-${this.called}`);
  }

  go(route) {
    return this.page.goto(this.server.base + route);
  }

  async sent(selector) {
    await Promise.all([this.page.waitForNavigation(), this.page.click(selector)]);
  }
}

async function post(server, route, fields) {
  const reply = await stage.post(server.base, route, new URLSearchParams(fields));
  assert.equal(reply.status, 303, `${route}: ${reply.status}`);
}

/** A class of one group: Nora, whose family agrees to everything, and Ida. */
export async function list(server) {
  await post(server, '/roster', { do: 'choose', rule: 'opt-out' });
  await post(server, '/roster', { do: 'add-class', title: '2 Blue' });
  const found = async (page, pattern) => pattern.exec(await (await stage.ask(server.base, page, { headers: { accept: 'text/html' } })).text())[1];
  const klass = await found('/roster', /"(\/roster\/classes\/\w+)"/);
  for (const given of ['Nora', 'Ida']) await post(server, klass, { do: 'add-child', given, family: 'Winter', group: '1' });
  const nora = await found(klass, /"(\/roster\/children\/\w+)">Nora/);
  for (const kind of ['stills', 'clips', 'shared']) {
    await post(server, nora, { do: 'record', kind, answer: 'yes', from: '2026-01-01', recorder: 'Ms Hall' });
  }
  return nora;
}

export async function startTheClass(server) {
  const { status, body } = await stage.postJson(server.base, '/api/class/start', {
    id: `keep-${Math.random()}`, class: '2 Blue', children: 2, groups: 1, not_shown: [], ticked: [1], times: TIMES,
  });
  assert.equal(status, 200, JSON.stringify(body));
  assert.deepEqual(body.asks, []);
}

const MAT = JSON.stringify([[2000, 3000], [8000, 3000], [8000, 9000], [2000, 9000]].map(([x, y]) => ({ x, y })));

/** The mat of station 1, without a hand. */
export const drawTheMat = (server) => post(server, '/roster/mat/1', { do: 'mat', corners: MAT });

/** Keeps what is there now, by the requests a browser makes. */
export async function keepNow(server, child, what) {
  const route = '/roster/keep/1';
  const here = await stage.ask(server.base, `${route}?what=${what}`, { headers: { accept: 'text/html' } });
  const moment = new URLSearchParams(here.headers.get('location').split('?')[1]);
  const fields = { do: 'prepare', what, from: moment.get('from'), to: moment.get('to'), child };
  const made = await stage.post(server.base, route, new URLSearchParams(fields));
  const token = /made=([^#&]+)/.exec(made.headers.get('location') || '');
  if (!token) throw new Error(`nothing was made: ${made.status} ${await made.text()}`);
  const kept = await stage.post(server.base, route, new URLSearchParams({ do: 'keep', made: token[1] }));
  if (!/\/roster\/kept\//.test(kept.headers.get('location') || '')) throw new Error(`it was not kept: ${kept.status}`);
}

/** Corners are dragged, and moved by the keyboard. */
async function drawMat(walk) {
  const { page } = walk;
  await walk.go('/roster/mat/1');
  const corners = () => page.evaluate(() => JSON.parse(document.querySelector('input[name=corners]').value));
  await page.waitForSelector('.corner');
  const before = await corners();
  const box = await page.locator('.corner').nth(0).boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x - 20, box.y - 10, { steps: 4 });
  await page.mouse.up();
  const dragged = await corners();
  assert.ok(dragged[0].x < before[0].x && dragged[0].y < before[0].y, 'the corner follows');
  await page.locator('.corner').nth(2).focus();
  await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('Shift+ArrowUp');
  const moved = await corners();
  assert.deepEqual(moved[2], { x: before[2].x - 50, y: before[2].y - 500 });
  await walk.look('mat');
  await walk.sent('form#mat button[type=submit]');
  await page.waitForSelector('form#mat .done');
  assert.deepEqual(await corners(), moved, 'it is kept as it was drawn');
}

/** A film that is there and can be played. */
async function plays(page) {
  await page.waitForFunction(() => {
    const video = document.querySelector('video');
    return video.readyState >= 2 && video.videoWidth > 0;
  });
  const length = await page.evaluate(() => document.querySelector('video').duration);
  await page.evaluate(() => document.querySelector('video').play());
  await page.waitForFunction(() => document.querySelector('video').currentTime > 0.3);
  return length;
}

async function keepOne(walk, what) {
  const { page } = walk;
  await walk.go(`/roster/keep/1?what=${what}`);
  assert.match(page.url(), /from=\d+&to=\d+/, 'the moment of the press stays');
  if (what === 'clip') {
    const length = async () => parseFloat(/(\d+\.\d) s/.exec(await page.innerText('main'))[1]);
    const usual = await length();
    await walk.sent('main .go a[href*="what=clip&from"] >> nth=0');
    assert.equal(await length(), usual + 1, 'a second longer');
  }
  const choices = page.locator('input[name=child]');
  assert.equal(await choices.count(), 2);
  assert.equal(await page.locator('input[name=child]:disabled').count(), 1, 'whose family has not agreed');
  await page.locator('input[name=child]:enabled').check();
  await walk.look(what);
  await walk.sent('form#prepare button[type=submit]');
  const length = what === 'clip' ? await plays(page) : 0;
  if (what === 'clip') assert.ok(Math.abs(length - 5) < 0.1, `${length} s of 5`);
  else await page.waitForFunction(() => document.querySelector('img.media').naturalWidth === 1280);
  await walk.look(`${what}-made`);
  await walk.sent('.either form >> nth=0 >> button');
  await page.waitForURL('**/roster/kept/*');
  if (what === 'clip') await plays(page);
  await walk.look(`${what}-kept`);
}

/** What the family gets opens from a stick. */
async function handOut(walk, browser) {
  const { page } = walk;
  await walk.go('/roster/kept');
  assert.equal(await page.locator('.things > li').count(), 2);
  await walk.look('list');
  await walk.go('/roster/export');
  await page.locator('form#export input[name=child]').check();
  await walk.sent('form#export button[type=submit]');
  await walk.look('export');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#exported button.file')]);
  assert.ok(!download.suggestedFilename().includes('Nora'), 'no name in the name of a file');
  const stick = mkdtempSync(path.join(tmpdir(), 'afterturn-'));
  execFileSync('unzip', ['-q', await download.path(), '-d', stick]);
  assert.deepEqual(readdirSync(stick).sort().map((name) => name.split(/[-.]/)[0]), ['clip', 'index', 'still']);
  const family = await (await browser.newContext()).newPage();
  await family.goto(pathToFileURL(path.join(stick, 'index.html')).href);
  assert.ok((await family.innerText('h1')).includes('Nora'));
  assert.ok(Math.abs(await plays(family) - 5) < 0.1);
  assert.ok(await family.evaluate(() => document.querySelector('img').naturalWidth > 0));
  await photograph(family, `keep-family-${walk.called}`);
  await page.click('#exported a[href*="/roster/sheet/"]');
  await page.waitForFunction(() => document.querySelector('.printed img').naturalWidth > 0);
  await walk.look('sheet');
}

async function takeBack(walk, nora) {
  const { page } = walk;
  await walk.go(nora);
  assert.equal(await page.locator('.things > li').count(), 2);
  await walk.look('child');
  await page.selectOption('form#record [name=kind]', 'clips');
  await page.check('form#record [name=answer][value=no]');
  await page.fill('form#record [name=recorder]', 'Ms Hall');
  await walk.sent('form#record button[type=submit]');
  assert.match(await page.innerText('.done'), /1/, 'it says how much went');
  assert.equal(await page.locator('.things > li').count(), 1);
  await page.check('form#let-go input[name=sure]');
  await walk.sent('form#let-go button[type=submit]');
  assert.equal(await page.locator('.things > li').count(), 0);
  assert.deepEqual(readdirSync(path.join(walk.server.folder, 'kept')), [], 'no file is left');
  await walk.go('/roster/log');
  assert.ok(!(await page.innerText('main')).includes('Nora'));
  await walk.look('log');
}

function wholeWay(lang, [width, height]) {
  return async (browser) => {
    const stations = [{ number: 1, title: 'Low beam', delay_ms: 1000, seed: 1, attempt_s: 4 }];
    const server = await stage.startServer(stations, { lesson: false });
    const nora = await list(server);
    await startTheClass(server);
    const page = await stage.openPage(browser, `${server.base}/remote`, {
      viewport: { width, height }, locale: lang, bypassCSP: true, acceptDownloads: true,
    });
    const walk = new Walk(page, server, `${lang}-${width}`);
    await drawMat(walk);
    // Ten seconds to settle, and an attempt, and a second more.
    await stage.sleep(18000);
    for (const what of ['clip', 'still']) await keepOne(walk, what);
    await handOut(walk, browser);
    await takeBack(walk, nora);
    assertNoErrors(page);
  };
}

export const tests = [
  ['keeping, the whole way, on a laptop', wholeWay('en', [1280, 800]), 'the one on a phone'],
  ['keeping, the whole way, on a phone in Spanish', wholeWay('es', [390, 844])],
];
