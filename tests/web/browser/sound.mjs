// What comes out of the speaker, rendered without one (Web Audio API, W3C
// Recommendation of 2021, § 1.3 OfflineAudioContext).

import assert from 'node:assert/strict';
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import * as stage from '../stage.mjs';

/** In the page: renders `seconds` and returns the loudest sample and the root mean square of each tenth. */
async function hear({ seconds, music, chimes }) {
  const { Voices, MOST } = await import('/assets/live/voices.js');
  const { BAR_S, notesOf } = await import('/assets/live/rhythm.js');
  const rate = 48000;
  const context = new OfflineAudioContext(1, seconds * rate, rate);
  const voices = new Voices(context);
  for (const [on, atS] of music) voices.fade(on, atS);
  if (music.length) {
    for (let bar = 0; bar * BAR_S < seconds; bar += 1) {
      for (const note of notesOf(bar)) voices.play(note, bar * BAR_S + note.atS);
    }
  }
  for (const [which, atS] of chimes) voices.chime(which, atS);
  const samples = (await context.startRendering()).getChannelData(0);
  const tenths = [];
  let peak = 0;
  for (let from = 0; from < samples.length; from += rate / 10) {
    let sum = 0;
    for (let i = from; i < from + rate / 10; i += 1) {
      peak = Math.max(peak, Math.abs(samples[i]));
      sum += samples[i] * samples[i];
    }
    tenths.push(Math.sqrt(sum / (rate / 10)));
  }
  return { peak, tenths, MOST };
}

/** How often it swells: a tenth clearly louder than the one before. */
const onsets = (tenths) => tenths.filter((level, i) => level > 0.003 && level > 1.15 * (tenths[i - 1] || 0)).length;
const loudest = (tenths) => Math.max(...tenths);

async function measured(browser) {
  const { base } = await stage.startDemo();
  const page = await stage.openPage(browser, `${base}/`);
  const render = (what) => page.evaluate(hear, { music: [], chimes: [], ...what });

  const work = await render({ seconds: 30, music: [[true, 0]] });
  assert.ok(work.peak <= work.MOST, `music at ${work.peak}`);
  const playing = work.tenths.slice(10);
  const mean = Math.sqrt(playing.reduce((sum, x) => sum + x * x, 0) / playing.length);
  assert.ok(mean > 0.01, `music is there: ${mean}`);
  // 20 dB below full scale at least: music to work by is not to be shouted over.
  assert.ok(mean < 0.1, `music is not loud: ${mean}`);

  const stopped = await render({ seconds: 8, music: [[true, 0], [false, 5]] });
  assert.ok(loudest(stopped.tenths.slice(20, 50)) > 0.01);
  assert.equal(loudest(stopped.tenths.slice(62)), 0, 'quiet is silence');
  const never = await render({ seconds: 5, music: [[false, 0]] });
  assert.equal(loudest(never.tenths), 0);

  for (const [which, times] of [['last_turn', 2], ['freeze', 2], ['gather', 1], ['test', 1]]) {
    const one = await render({ seconds: 6, chimes: [[which, 0.5]] });
    assert.ok(one.peak <= one.MOST, `${which} at ${one.peak}`);
    assert.ok(one.peak > 0.1, `${which} is heard: ${one.peak}`);
    assert.equal(onsets(one.tenths), times, `${which} sounds once: ${one.tenths.map((x) => x.toFixed(3))}`);
    assert.ok(loudest(one.tenths.slice(50)) < 0.003, `${which} dies away`);
  }

  const both = await render({ seconds: 10, music: [[true, 0]], chimes: [['freeze', 5], ['gather', 5], ['last_turn', 5]] });
  assert.ok(both.peak <= both.MOST, `all at once at ${both.peak}`);
  console.log(`       music ${(20 * Math.log10(mean)).toFixed(1)} dBFS, loudest ${(20 * Math.log10(work.peak)).toFixed(1)}; all at once ${(20 * Math.log10(both.peak)).toFixed(1)}`);
}

export const tests = [['what the speaker plays, rendered and measured', measured]];

/** The page's own speaker, listened to where it leaves: the loudest of some tenths of a second. */
async function heardFor(page, ms) {
  return page.evaluate(async (for_ms) => {
    const { speaker } = window.afterturn;
    const ear = speaker.context.createAnalyser();
    ear.fftSize = 2048;
    speaker.voices.end.connect(ear);
    const samples = new Float32Array(ear.fftSize);
    let most = 0;
    const end = performance.now() + for_ms;
    while (performance.now() < end) {
      ear.getFloatTimeDomainData(samples);
      for (const sample of samples) most = Math.max(most, Math.abs(sample));
      await new Promise((resolve) => { setTimeout(resolve, 30); });
    }
    speaker.voices.end.disconnect(ear);
    return most;
  }, ms);
}

async function throughAClass(browser) {
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }], { lesson: false });
  const page = await stage.openPage(browser, `${server.base}/hall`);
  await stage.until('it offers to be the speaker', async () => /Sound here: off/.test(await page.innerText('#sound')));
  await page.click('#sound');
  await stage.until('it is', async () => /Sound here: music/.test(await page.innerText('#sound')));
  // The test tone dies away first.
  await stage.sleep(6500);
  assert.ok(await heardFor(page, 500) < 0.001, 'no class: silence');
  const long = { warm_up_s: 0, briefing_s: 0, work_s: 600, last_turn_s: 20, gather_s: 600, walk_s: 600, closing_s: 0 };
  await stage.startClass(server.base, { times: long, groups: 2, crowd: 'rest' });
  await stage.until('music while there is work', async () => await heardFor(page, 500) > 0.01);
  assert.equal(await page.locator('#sound').isVisible(), false);
  await stage.press(server.base, { press: 'hold', hold: 'accident' });
  await stage.sleep(2500);
  assert.ok(await heardFor(page, 800) < 0.001, 'an accident: silence');
  await stage.press(server.base, { press: 'resume', hold: 'accident' });
  await stage.until('and on', async () => await heardFor(page, 500) > 0.01);
  await stage.press(server.base, { press: 'next' });
  await stage.sleep(2500);
  assert.ok(await heardFor(page, 800) < 0.001, 'quiet means gather');
  // Back after a restart of the page, it asks for the one press.
  await page.reload();
  await stage.until('it asks, or is let', () => page.evaluate(() => {
    const { speaker } = window.afterturn;
    return speaker.mode() === 'rhythm' && (!speaker.waits() || !document.querySelector('#sound').hidden);
  }));
  assert.deepEqual(page.errors, []);
}

tests.push(['the speaker plays while there is work and is silent when it should be', throughAClass]);

/** A piece of music of our own: one tone, as loud as a file can be. */
function wave(hz, seconds) {
  const rate = 8000;
  const bytes = Buffer.alloc(44 + rate * seconds * 2);
  // RIFF WAVE with one channel of 16 bits (Multimedia Programming Interface and
  // Data Specifications 1.0, IBM and Microsoft 1991).
  bytes.write('RIFF', 0); bytes.writeUInt32LE(bytes.length - 8, 4); bytes.write('WAVEfmt ', 8);
  bytes.writeUInt32LE(16, 16); bytes.writeUInt16LE(1, 20); bytes.writeUInt16LE(1, 22);
  bytes.writeUInt32LE(rate, 24); bytes.writeUInt32LE(rate * 2, 28); bytes.writeUInt16LE(2, 32); bytes.writeUInt16LE(16, 34);
  bytes.write('data', 36); bytes.writeUInt32LE(bytes.length - 44, 40);
  for (let i = 0; i < rate * seconds; i += 1) bytes.writeInt16LE(Math.round(32767 * Math.sin(2 * Math.PI * hz * i / rate)), 44 + i * 2);
  return bytes;
}

/** In the page: the loudest frequency that leaves it now. */
const pitch = (page) => page.evaluate(async () => {
  const { speaker } = window.afterturn;
  const ear = speaker.context.createAnalyser();
  ear.fftSize = 8192;
  speaker.voices.end.connect(ear);
  await new Promise((resolve) => { setTimeout(resolve, 400); });
  const bins = new Float32Array(ear.frequencyBinCount);
  ear.getFloatFrequencyData(bins);
  speaker.voices.end.disconnect(ear);
  return bins.indexOf(Math.max(...bins)) * speaker.context.sampleRate / ear.fftSize;
});

const plays = (page, hz) => async () => Math.abs(await pitch(page) - hz) < 15 && await heardFor(page, 200) > 0.01;
const said = (remote) => remote.innerText('#sound-stands');
const change = (base, what) => stage.postJson(base, '/api/class/changes', what);

/** The teacher's own files, chosen and heard from the remote. */
async function ownFiles(browser) {
  const music = mkdtempSync(path.join(tmpdir(), 'afterturn-music-'));
  writeFileSync(path.join(music, 'a.wav'), wave(400, 3));
  writeFileSync(path.join(music, 'b cut off.ogg'), 'OggS\0\u0002 and no more');
  writeFileSync(path.join(music, 'c.wav'), wave(700, 3));
  writeFileSync(path.join(music, 'd letter.mp3'), 'Dear families');
  const camera = await stage.startCamera();
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }], { lesson: false, top: `music_dir = "${music}"` });
  const { base } = server;
  const remote = await stage.openPage(browser, `${base}/remote`, { viewport: { width: 390, height: 844 } });
  const hall = await stage.openPage(browser, `${base}/hall`);
  await remote.click('#sounds > summary');
  await stage.until('no speaker, said plainly', async () => /No sound is playing: no speaker/.test(await said(remote)));
  assert.equal(await remote.getAttribute('[data-sound-mode="files"]', 'aria-pressed'), 'true', 'where there are files they play');
  await stage.until('the board is there to be chosen', () => remote.isVisible('#sound-pages button:has-text("Hall board")'));
  await remote.click('#sound-pages button:has-text("Hall board")');
  await stage.until('the board is told', () => hall.evaluate(() => window.afterturn.speaker.mode() === 'files'));
  await stage.until('it asks for the one press, or needs none', async () => /press the button at Hall board|Hall board is ready/.test(await said(remote)));
  if (/press the button/.test(await said(remote))) {
    assert.match(await hall.innerText('#sound'), /Press here for sound/);
    await hall.click('#sound');
  }
  await stage.until('it is ready', async () => /Hall board is ready/.test(await said(remote)));
  await stage.sleep(6500);
  await remote.click('#sound-tone');
  await stage.until('the test tone is heard', async () => await heardFor(hall, 300) > 0.05, { within_ms: 5000 });
  await stage.sleep(6500);
  assert.ok(await heardFor(hall, 500) < 0.001, 'no class: silence');

  const long = { warm_up_s: 0, briefing_s: 0, work_s: 600, last_turn_s: 20, gather_s: 600, walk_s: 600, closing_s: 0 };
  await stage.startClass(base, { times: long, groups: 2, crowd: 'rest' });
  await stage.until('the first file', plays(hall, 400), { within_ms: 20000 });
  await stage.until('then the next that can be played', plays(hall, 700), { within_ms: 20000 });
  await stage.until('and round', plays(hall, 400), { within_ms: 20000 });
  const most = await hall.evaluate(() => import('/assets/live/voices.js').then((m) => m.MOST));
  const loudest = await heardFor(hall, 4000);
  assert.ok(loudest <= most && loudest > 0.05, `within the maximum: ${loudest}`);
  await stage.until('the remote says so', async () => /Music plays at Hall board/.test(await said(remote)));
  await stage.until('and names what is left out', async () => /b cut off\.ogg/.test(await remote.innerText('#sound-files')));
  assert.match(await remote.innerText('#sound-files'), /d letter\.mp3/);
  // Nobody's page but the speaker's gets them.
  const stranger = await (await browser.newContext()).newPage();
  await stranger.goto(`${base}/tv/1`);
  assert.equal(await stranger.evaluate(() => fetch('/api/sound/files/1/0').then((answer) => answer.status)), 403);
  await stranger.context().close();

  await stage.press(base, { press: 'hold', hold: 'accident' });
  await stage.sleep(2500);
  assert.ok(await heardFor(hall, 800) < 0.001, 'an accident: silence');
  await stage.press(base, { press: 'resume', hold: 'accident' });
  await stage.until('and on', async () => await heardFor(hall, 500) > 0.01);
  await change(base, { change: 'quiet', on: true });
  await stage.sleep(2500);
  assert.ok(await heardFor(hall, 800) < 0.001, 'a quiet class: silence');
  await stage.until('and it is said', async () => /quiet today/.test(await said(remote)));
  await change(base, { change: 'quiet', on: false });
  await stage.until('and on again', async () => await heardFor(hall, 500) > 0.01);
  mkdirSync(path.join(stage.root, 'tests/out'), { recursive: true });
  await remote.locator('#sounds').scrollIntoViewIfNeeded();
  await remote.screenshot({ path: path.join(stage.root, 'tests/out/remote-sounds.png') });
  await stage.press(base, { press: 'next' });
  await stage.sleep(2500);
  assert.ok(await heardFor(hall, 800) < 0.001, 'quiet means gather');

  // After a restart of the box the same page is the speaker.
  await remote.click('[data-sound-mode="own"]');
  await stage.until('taken', () => hall.evaluate(() => window.afterturn.speaker.mode() === 'own'));
  await stage.sleep(1500);
  await stage.end(server.child);
  assert.doesNotMatch(server.child.said, /a\.wav|cut off|letter/, 'no name of a file in the log');
  await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url }], { lesson: false, folder: server.folder, port: server.port, top: `music_dir = "${music}"` });
  await stage.until('it is the speaker again, with signals only', () => hall.evaluate(() => window.afterturn.speaker.mode() === 'own'), { within_ms: 20000 });
  assert.deepEqual(hall.errors.filter((e) => !/WebSocket|ERR_|40[34]/.test(e)), []);
}

tests.push(["the teacher's own files: chosen, heard and limited, and for the speaker alone", ownFiles]);
