// The editor of a unit: what is typed is kept in the file with every comment, a mistake is said at its field, a clash
// overwrites nothing, and all of it goes with the keyboard alone.

import assert from 'node:assert/strict';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { assertNoErrors, sentence } from './seen.mjs';

const STATIONS = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }];
const NAME = 'larkfield-circuit';

/** A server with the sample unit; returns where its file is. */
async function start(screen = '') {
  const folder = mkdtempSync(path.join(tmpdir(), 'afterturn-'));
  mkdirSync(path.join(folder, 'units'));
  const file = path.join(folder, 'units', `${NAME}.toml`);
  copyFileSync(path.join(stage.root, 'config/units', `${NAME}.toml`), file);
  const server = await stage.startServer(STATIONS.map((one) => ({ ...one, screen })), { folder });
  return { server, file, text: () => readFileSync(file, 'utf8') };
}

const comments = (text) => text.split('\n').filter((line) => line.includes('#')).map((line) => line.slice(line.indexOf('#'))).sort();
const field = (at) => `[id="field-${at}"]`;
const said = (page, id) => stage.until(sentence(id), async () => (await page.innerText('#said')) === sentence(id));

async function open(browser, server, route = '/unit') {
  const page = await stage.openPage(browser, server.base + route);
  await stage.until('the form', () => page.evaluate(() => document.querySelectorAll('details').length === 8));
  return page;
}

async function typedAndKept(browser) {
  const { server, text } = await start();
  const before = text();
  const page = await open(browser, server);
  // With the keyboard alone: open the first station, type, save.
  await page.focus('[id="part-station.beam"] summary');
  await page.keyboard.press('Enter');
  await page.focus(field('station.beam.title.en'));
  await page.keyboard.press('Control+A');
  await page.keyboard.type('Low beam walk');
  await page.keyboard.press('Control+s');
  await said(page, 'live-unit-saved');
  assert.equal(text(), before.replace('en = "Beam walk"', 'en = "Low beam walk"'));

  // Put in order, add, take back one step, and save.
  await page.click('[id="down-station.beam"]');
  await page.focus('[id="part-station.shapes"] summary');
  await page.keyboard.press('Enter');
  await page.click('[id="add-station.shapes.cue"]');
  await page.fill(field('station.shapes.cue.#3.text.en'), 'Breathe out slowly');
  await page.fill(field('station.shapes.cue.#3.text.es'), 'Suelta el aire despacio');
  await page.click('[id="remove-station.shapes.cue.shape-arms"]');
  await page.click('#undo');
  await said(page, 'live-unit-undone');
  await page.click('#save');
  await said(page, 'live-unit-saved');
  assert.deepEqual(comments(text()), comments(before));
  assert.ok(text().includes('id = "cue-1"') && text().includes('Breathe out slowly'));
  assert.ok(text().indexOf('id = "jumps"') < text().indexOf('id = "beam"'));
  // And the last save back.
  await page.click('#back');
  await stage.until('the save is back', () => !text().includes('Breathe out slowly'));
  assertNoErrors(page);
}

async function mistakeInSpanish(browser) {
  const { server } = await start();
  const page = await open(browser, server, '/unit?lang=es');
  await page.click('[id="part-station.beam"] summary');
  const at = field('station.beam.cue.beam-eyes.text.es');
  const lanes = field('station.beam.lanes');
  const told = (input) => page.evaluate((selector) => document.getElementById(document.querySelector(selector).getAttribute('aria-describedby')).textContent, input);
  await page.fill(at, 'Mira siempre con mucha calma el final de la barra');
  await page.fill(lanes, 'dos');
  await stage.until('both are said', async () => (await told(at)) !== '' && (await told(lanes)) !== '');
  assert.equal(await told(at), '`text` tiene como máximo 7 palabras, no 10: se lee de un vistazo → quita 3, o dilo en dos');
  assert.equal(await told(lanes), '`lanes` es un número entero, no texto → escribe solo cifras');
  assertNoErrors(page);
}

async function mistakeAtItsField(browser) {
  const { server, text } = await start();
  const before = text();
  const page = await open(browser, server);
  await page.click('[id="part-station.beam"] summary');
  const at = field('station.beam.cue.beam-eyes.text.en');
  await page.fill(at, 'Look at the very far end of the beam');
  await stage.until('it is said at the field', async () => (await page.getAttribute(at, 'aria-invalid')) === 'true');
  const words = await page.evaluate((selector) => {
    const input = document.querySelector(selector);
    return document.getElementById(input.getAttribute('aria-describedby')).textContent;
  }, at);
  assert.match(words, /7 words at most/);
  await page.click('#save');
  await said(page, 'live-unit-not-saved');
  assert.equal(text(), before);
  assert.equal(await page.inputValue(at), 'Look at the very far end of the beam', 'nothing typed is lost');
  await page.reload();
  await said(page, 'live-unit-kept');
  assert.equal(await page.inputValue(at), 'Look at the very far end of the beam', 'not by a reload either');
  await page.click('#undo');
  await stage.until('it is mended', async () => (await page.inputValue(at)) === 'Look at the end of the beam');
  // 422 is what a refused save is.
  assertNoErrors(page, /status of 422/);
}

async function clashOverwritesNothing(browser) {
  const { server, file, text } = await start();
  const page = await open(browser, server);
  await page.click('[id="part-station.beam"] summary');
  // A text editor, while nothing is typed here: it shows up by itself.
  writeFileSync(file, text().replace('en = "Beam walk"', 'en = "Plank walk"'));
  await said(page, 'live-unit-changed');
  assert.equal(await page.inputValue(field('station.beam.title.en')), 'Plank walk');
  // And once more, while something is.
  await page.fill(field('station.beam.task.en'), 'Cross it slowly.');
  const theirs = text().replace('en = "Plank walk"', 'en = "Board walk"');
  writeFileSync(file, theirs);
  await stage.until('both versions', () => page.isVisible('#clash'));
  assert.equal(text(), theirs);
  assert.match(await page.innerText('#differences'), /Board walk/);
  await page.click('#mine');
  await said(page, 'live-unit-onto');
  await page.click('#save');
  await said(page, 'live-unit-saved');
  assert.ok(text().includes('en = "Board walk"') && text().includes('en = "Cross it slowly."'));
  assertNoErrors(page, /status of 409/);
}

async function whatAGradeSees(browser) {
  const { server } = await start();
  const page = await open(browser, server);
  const room = () => page.innerText('#room');
  await stage.until('a room', async () => (await room()).includes('Walk forward'));
  assert.ok(!(await room()).includes('Walk backward'));
  await page.selectOption('#grade', '4');
  await stage.until('the fourth grade', async () => (await room()).includes('Walk backward'));
  // The rope is off until it is recorded that it is allowed.
  assert.match(await room(), /Swing across: ask first/);
  await page.click('#add-permission');
  await page.selectOption(field('permission.#0.what'), 'swing-rope');
  await page.fill(field('permission.#0.place'), 'small gym');
  await page.fill(field('permission.#0.by'), 'district office');
  await page.fill(field('permission.#0.on'), '2026-08-20');
  await stage.until('the rope', async () => (await room()).includes('Swing across and stand'));
  assertNoErrors(page);
}

async function tooLongForTheTv(browser) {
  const { server } = await start('diagonal_in = 32\napproach_cm = 300');
  const page = await open(browser, server, '/unit?lang=es');
  await page.click('[id="part-station.beam"] summary');
  const at = field('station.beam.cue.beam-eyes.text.es');
  const words = () => page.evaluate((selector) => document.getElementById(document.querySelector(selector).getAttribute('aria-describedby')).textContent, at);
  assert.equal(await words(), '');
  await page.fill(at, 'Desproporcionadamente interdisciplinariamente electroencefalográficamente');
  await stage.until('it is said at the field, in Spanish, before it is saved', async () => (await words()).startsWith('Demasiado largo para la pantalla de la estación 1'));
  assert.match(await words(), /grados 3–5/);
  assert.equal(await page.getAttribute(at, 'aria-invalid'), null, 'it can be saved all the same');
  await page.fill(at, 'Mira al frente');
  await stage.until('and no longer', async () => (await words()) === '');
  assertNoErrors(page);
}

/** A drawing, made by a browser; its file's name and what stands behind it are nobody's business. */
const drawing = (page) => page.evaluate(() => {
  const canvas = document.createElement('canvas');
  canvas.width = 300;
  canvas.height = 200;
  const brush = canvas.getContext('2d');
  brush.fillStyle = '#fff';
  brush.fillRect(0, 0, 300, 200);
  brush.lineWidth = 16;
  brush.arc(150, 100, 60, 0, 6);
  brush.stroke();
  return canvas.toDataURL('image/png').split(',')[1];
});

async function ownPicture(browser) {
  const { server, file, text } = await start();
  const page = await open(browser, server);
  await page.click('[id="part-station.beam"] summary');
  const at = 'station.beam.cue.beam-eyes.picture';
  const part = page.locator('.picture', { has: page.locator(field(at)) });
  assert.match(await part.innerText(), /needs the family’s consent/, 'it is said before one is chosen');
  await page.setInputFiles(field(at), { name: 'holiday.png', mimeType: 'image/png', buffer: Buffer.from('not a picture') });
  await stage.until('it is refused', async () => (await part.locator('.picture-said').innerText()) === sentence('live-unit-picture-refused'));
  const png = Buffer.concat([Buffer.from(await drawing(page), 'base64'), Buffer.from('Ada was here')]);
  await page.setInputFiles(field(at), { name: 'Ada Lindgren.png', mimeType: 'image/png', buffer: png });
  await stage.until('it is shown', () => part.locator('img').evaluate((image) => image.naturalWidth === 300));
  assert.equal(await page.inputValue(field('station.beam.cue.beam-eyes.figure')), '', 'it stands instead of the figure');
  await page.click('#save');
  await said(page, 'live-unit-saved');
  const [, name] = /picture = "([0-9a-f]{32}\.png)"/.exec(text());
  const folder = path.join(path.dirname(file), 'pictures');
  assert.deepEqual(readdirSync(folder), [name]);
  assert.ok(!readFileSync(path.join(folder, name)).includes('Ada'));

  // On the TV, in both views, with the words it stands for.
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { viewport: { width: 1920, height: 1080 } });
  for (const choice of ['picture', 'text']) {
    const { status } = await stage.api(server.base, '/api/showing', { method: 'PATCH', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ grade: 4, choice }) });
    assert.equal(status, 200);
    await stage.until(`the ${choice} view`, () => tv.evaluate((w) => document.querySelector('#tv').dataset.view === w, choice));
    const image = tv.locator('#figure img');
    await stage.until('the picture', () => image.evaluate((one) => one.naturalWidth === 300));
    assert.equal(await image.getAttribute('alt'), 'Look at the end of the beam');
    const { height } = await image.boundingBox();
    assert.ok(height > 200, `${height} px high`);
    await tv.screenshot({ path: path.join(stage.root, 'tests/out', `own-picture-${choice}.png`) });
  }
  // Its file goes: the editor says so, the words stay on the TV.
  rmSync(path.join(folder, name));
  await tv.reload();
  await stage.until('no broken picture', () => tv.evaluate(() => document.querySelector('#figure').hidden && document.querySelector('#cue').textContent !== ''));
  await page.reload();
  await page.click('[id="part-station.beam"] summary');
  await stage.until('it is said at the field', async () => (await page.textContent(`[id="said-${at}"]`)).includes(name));
  assertNoErrors(page, /status of (404|422)/);
  assertNoErrors(tv, /status of 404/);
}

async function aNewUnit(browser) {
  const { server, file } = await start();
  const page = await stage.openPage(browser, `${server.base}/unit?lang=es`);
  await page.fill('#new-name', 'Circuito de otoño');
  await page.selectOption('#new-from', '');
  await page.click('#new button');
  await page.waitForURL(/\/unit\/circuito-de-otono/);
  await stage.until('its station', () => page.evaluate(() => document.querySelectorAll('details').length === 1));
  const made = path.join(path.dirname(file), 'circuito-de-otono.toml');
  assert.match(readFileSync(made, 'utf8'), /languages = \["es"\]/);
  // One more language: each text twice, and what is not translated yet is said.
  await page.click('#add-language-en');
  await page.click('[id="part-station.station-a"] summary');
  assert.equal(await page.inputValue(field('station.station-a.title.en')), 'Primera estación');
  await stage.until('it is to be translated', async () => (await page.innerText('[id="part-station.station-a"]')).includes('Dice lo mismo en cada idioma'));
  await page.fill(field('station.station-a.title.en'), 'First station');
  await page.click('#save');
  await stage.until('it is saved', () => /en = "First station"/.test(readFileSync(made, 'utf8')));
  await page.click('#remove-language-en');
  await page.click('#save');
  await stage.until('it is out again', () => !/en = /.test(readFileSync(made, 'utf8')));
  // A copy of the other, and nothing twice.
  await page.goto(`${server.base}/unit/${NAME}`);
  await page.fill('#new-name', NAME);
  await page.click('#new button');
  await stage.until('it is taken', async () => (await page.innerText('#new-said')).includes('already'));
  await page.fill('#new-name', 'Spring');
  await page.click('#new button');
  await page.waitForURL(/\/unit\/spring/);
  await stage.until('all stations', () => page.evaluate(() => document.querySelectorAll('details').length === 8));
  // The screens go on with what they show, although another comes before it.
  await page.fill('#new-name', 'Another');
  await page.click('#new button');
  await page.waitForURL(/\/unit\/another/);
  const { body } = await stage.api(server.base, '/api/units');
  assert.deepEqual(body.map((one) => one.name), ['another', 'circuito-de-otono', NAME, 'spring']);
  assertNoErrors(page, /status of 409/);
}

export const tests = [
  ['a new unit is made, from nothing and as a copy, and gets a language more', aNewUnit],
  ['a picture of the teacher’s own goes to the TV and nothing goes with it', ownPicture],
  ['a cue too long for the TV is flagged while it is typed', tooLongForTheTv],
  ['a unit is changed with the keyboard and its file keeps every comment', typedAndKept],
  ['a mistake in a unit is said in the language of the page', mistakeInSpanish],
  ['a mistake in a unit is said at its field and nothing typed is lost', mistakeAtItsField],
  ['a unit that somebody else changed is not overwritten', clashOverwritesNothing],
  ['what a grade will see of a unit is shown before it is saved', whatAGradeSees],
];
