// The editor of a unit: what is typed is kept in the file with every comment, a mistake is said at its field, a clash
// overwrites nothing, and all of it goes with the keyboard alone.

import assert from 'node:assert/strict';
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync, copyFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { assertNoErrors, sentence } from './seen.mjs';

const STATIONS = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }];
const NAME = 'larkfield-circuit';

/** A server with the sample unit; returns where its file is. */
async function start() {
  const folder = mkdtempSync(path.join(tmpdir(), 'afterturn-'));
  mkdirSync(path.join(folder, 'units'));
  const file = path.join(folder, 'units', `${NAME}.toml`);
  copyFileSync(path.join(stage.root, 'config/units', `${NAME}.toml`), file);
  const server = await stage.startServer(STATIONS, { folder });
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
  assert.ok(text().indexOf('id = "stack"') < text().indexOf('id = "beam"'));
  // And the last save back.
  await page.click('#back');
  await stage.until('the save is back', () => !text().includes('Breathe out slowly'));
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
  assert.match(words, /at most 7 words/);
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

export const tests = [
  ['a unit is changed with the keyboard and its file keeps every comment', typedAndKept],
  ['a mistake in a unit is said at its field and nothing typed is lost', mistakeAtItsField],
  ['a unit that somebody else changed is not overwritten', clashOverwritesNothing],
  ['what a grade will see of a unit is shown before it is saved', whatAGradeSees],
];
