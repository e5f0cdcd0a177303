// What a class has otherwise than the unit: pinned on the remote it is on the TV, it outlives the box, it is offered
// when the class is over, and kept for everybody it stands in the unit file. And which unit the gym uses.

import assert from 'node:assert/strict';
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { look } from './looks.mjs';
import { assertNoErrors, sentence } from './seen.mjs';

const NAME = 'larkfield-circuit';
const SAMPLE = readFileSync(path.join(stage.root, 'config/units', `${NAME}.toml`), 'utf8');
const STATIONS = [{ number: 1, title: 'Low beam', delay_ms: 5000, seed: 1 }, { number: 2, title: 'Box', delay_ms: 5000, seed: 2 }];
const EYES = 'Look at the end of the beam';
const ARMS = 'Stretch both arms out wide';
/** A connection that goes with its server. */
const GONE = /ERR_CONNECTION|WebSocket|Failed to load resource/;

/** A box with unit files and no class; returns where the sample's file is. */
async function start(others = {}) {
  const folder = mkdtempSync(path.join(tmpdir(), 'afterturn-'));
  mkdirSync(path.join(folder, 'units'));
  const files = { [NAME]: SAMPLE, ...others };
  for (const [name, text] of Object.entries(files)) writeFileSync(path.join(folder, 'units', `${name}.toml`), text);
  const server = await stage.startServer(STATIONS, { folder, lesson: false });
  const file = path.join(folder, 'units', `${NAME}.toml`);
  return { ...server, folder, file, text: () => readFileSync(file, 'utf8') };
}

/** The plug is pulled and put back. */
async function pulled(server) {
  await stage.end(server.child, 'SIGKILL');
  const again = await stage.startServer(STATIONS, { port: server.port, folder: server.folder });
  return Object.assign(server, { child: again.child });
}

const begin = (server, title) => stage.startClass(server.base, { class: title, grade: 3, anew: true, ticked: [1, 2] });
const remoteOf = (browser, server, lang = 'en') => stage.openPage(browser, `${server.base}/remote?lang=${lang}`, { viewport: { width: 390, height: 844 } });
const tvOf = (browser, server) => stage.openPage(browser, `${server.base}/tv/1`, { viewport: { width: 1920, height: 1080 } });
const shows = (tv, words) => stage.until(`the TV says: ${words}`, async () => (await tv.innerText('#tv')).includes(words));
const openCard = async (page) => {
  await page.click('[data-number="1"] .opened > summary');
  await stage.until('the cues', () => page.isVisible('[data-number="1"] .cues button'));
};
const delay = async (server) => (await stage.api(server.base, '/api/stations/1')).body.delay_ms;
const comments = (text) => text.split('\n').filter((line) => line.includes('#')).map((line) => line.slice(line.indexOf('#'))).sort();

async function pinnedKeptAndForEverybody(browser) {
  const server = await start();
  const tv = await tvOf(browser, server);
  const remote = await remoteOf(browser, server);
  await begin(server, '3B');
  await shows(tv, EYES);
  await openCard(remote);
  assert.equal(await remote.isVisible('#kept'), false, 'nothing is asked in class');
  const cue = (words) => remote.locator('[data-number="1"] .cues').getByText(words, { exact: true });
  const planned = sentence('live-cue-planned', { cue: EYES });
  assert.equal(await cue(planned).getAttribute('aria-pressed'), 'true');
  // With the keyboard, as with a thumb.
  await cue(ARMS).focus();
  await remote.keyboard.press('Enter');
  await shows(tv, ARMS);
  assert.equal(await remote.innerText('[data-number="1"] .cue-said'), sentence('live-cue-set'));
  assert.equal(await cue(ARMS).getAttribute('aria-pressed'), 'true');
  await cue(planned).click();
  await shows(tv, EYES);
  await cue(ARMS).click();
  await shows(tv, ARMS);
  await remote.fill('[data-number="1"] .seconds', '12');
  await remote.press('[data-number="1"] .seconds', 'Enter');
  const set = sentence('live-remote-set-class', { class: '3B', seconds: '12' });
  await stage.until(set, async () => (await remote.innerText('[data-number="1"] .said')) === set);
  await pulled(server);
  await stage.until('the class has its delay again', async () => (await delay(server)) === 12000);
  await tv.reload();
  await shows(tv, ARMS);

  await stage.press(server.base, { press: 'end' });
  await shows(tv, EYES);
  assert.equal(await delay(server), 5000, 'nobody\'s class: the config file\'s');
  await stage.until('it is offered', () => remote.isVisible('#kept li'), { within_ms: 20000 });
  const item = (words) => remote.locator('#kept li', { hasText: words });
  const late = sentence('live-kept-delay', { seconds: '12', planned: '10' });
  assert.match(await remote.innerText('#kept'), /3B, station 1: Beam walk/);
  await item(late).waitFor();
  await item(sentence('live-kept-cue', { cue: ARMS, planned: EYES })).waitFor();
  // Somebody with a text editor was quicker.
  const theirs = SAMPLE.replace('en = "Beam walk"', 'en = "Board walk"');
  writeFileSync(server.file, theirs);
  await item(late).locator('[data-keep="everybody"]').click();
  await stage.until('a clash is said', async () => (await remote.innerText('#kept-said')) === sentence('live-kept-clash'));
  assert.equal(server.text(), theirs, 'and nothing was overwritten');
  await stage.until('it is as it is now', async () => /Board walk/.test(await remote.innerText('#kept')));
  await item(late).locator('[data-keep="everybody"]').click();
  await stage.until('it is kept', async () => (await remote.innerText('#kept-said')) === sentence('live-kept-now-everybody'));
  assert.equal(server.text(), theirs.replace('delay_ms = 10000', 'delay_ms = 12000'), 'one line has changed');
  await item(ARMS).locator('[data-keep="everybody"]').click();
  await stage.until('nothing is left to say', () => remote.evaluate(() => document.querySelectorAll('#kept li').length === 0));
  assert.deepEqual(comments(server.text()), comments(SAMPLE));
  assert.ok(server.text().indexOf('"beam-arms"') < server.text().indexOf('"beam-eyes"'));
  await begin(server, '1A');
  await shows(tv, ARMS);
  assert.equal(await delay(server), 12000);
  assertNoErrors(remote, GONE);
  assertNoErrors(tv, GONE);
}

async function unitIsChosen(browser) {
  const spring = SAMPLE.replace(`id = "${NAME}"`, 'id = "spring"')
    .replace('en = "Larkfield circuit"', 'en = "Spring circuit"').replace(`en = "${EYES}"`, 'en = "Count the steps"');
  const server = await start({ spring });
  const { status } = await stage.api(server.base, '/api/showing', { method: 'PATCH', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ grade: 3 }) });
  assert.equal(status, 200);
  const tv = await tvOf(browser, server);
  await shows(tv, EYES);
  const remote = await remoteOf(browser, server);
  await remote.click('#showing > summary');
  const unit = (title) => remote.locator('#unit-list').getByText(title, { exact: true });
  await unit('Spring circuit').waitFor();
  assert.equal(await unit('Larkfield circuit').getAttribute('aria-pressed'), 'true', 'the first by name');
  await unit('Spring circuit').click();
  await shows(tv, 'Count the steps');
  await stage.until('it is said', async () => (await remote.innerText('#unit-said')) === sentence('live-unit-used'));
  await stage.until('it is written down', () => /"spring"/.test(readFileSync(path.join(server.folder, 'unit.json'), 'utf8')));
  await pulled(server);
  await begin(server, '3B');
  const after = await tvOf(browser, server);
  await shows(after, 'Count the steps');
  // In mid-class it stays, whoever asks.
  await stage.until('it is said why', async () => (await remote.innerText('#units-wait')) === sentence('remote-unit-waits'), { within_ms: 20000 });
  assert.equal(await unit('Larkfield circuit').getAttribute('aria-disabled'), 'true');
  await unit('Larkfield circuit').click({ force: true });
  const refused = await stage.postJson(server.base, `/api/units/${NAME}/use`, {});
  assert.equal(refused.status, 409);
  assert.match(refused.body.detail, /a class is running/);
  await stage.sleep(1500);
  await shows(after, 'Count the steps');
  const editor = await stage.openPage(browser, `${server.base}/unit`);
  assert.equal(await editor.getAttribute('#unit', 'data-name'), 'spring', 'the editor opens the one in use');
  for (const page of [tv, after, remote]) assertNoErrors(page, GONE);
}

/** Screenshots of what is new on the remote, looked at by axe too. */
async function howItLooks(browser) {
  const server = await start({ spring: SAMPLE.replace(`id = "${NAME}"`, 'id = "spring"').replace('Larkfield circuit', 'Spring circuit').replace('Circuito de Larkfield', 'Circuito de primavera') });
  await begin(server, '3B');
  await stage.postJson(server.base, '/api/class/cue', { station: 1, cue: 'beam-toes' });
  await stage.setDelay(server.base, 1, 12000);
  const card = async (page) => {
    await openCard(page);
    await page.evaluate(() => { document.querySelector('[data-number="1"] .cues').scrollIntoView({ block: 'center' }); });
  };
  await look(browser, server.base, '/remote', [[390, 844], [1024, 768]], { name: 'remote-cues', ready: card });
  await stage.press(server.base, { press: 'end' });
  const kept = async (page) => {
    await stage.until('it is offered', () => page.isVisible('#kept li'));
    const small = await page.evaluate(() => [...document.querySelectorAll('#kept button')].map((one) => one.getBoundingClientRect()).filter((box) => box.height < 48 || box.width < 48).length);
    assert.equal(small, 0, 'in reach of a thumb');
  };
  await look(browser, server.base, '/remote', [[390, 844], [1024, 768], [1920, 1080]], { name: 'remote-kept', ready: kept });
  const units = async (page) => {
    await page.click('#showing > summary');
    await stage.until('the units', () => page.isVisible('#unit-list button'));
    await page.evaluate(() => { document.querySelector('#units').scrollIntoView({ block: 'center' }); });
  };
  await look(browser, server.base, '/remote', [[390, 844]], { name: 'remote-units', ready: units });
}

export const tests = [
  ['a cue is pinned, offered at the end of the class and kept for everybody', pinnedKeptAndForEverybody],
  ['the unit that is used is chosen, remembered, and stays in mid-class', unitIsChosen],
  ['how the cues, the offers and the units look on the remote', howItLooks],
];
