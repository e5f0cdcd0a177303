// What comes out of the speaker, rendered without one (Web Audio API, W3C
// Recommendation of 2021, § 1.3 OfflineAudioContext).

import assert from 'node:assert/strict';
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
    speaker.voices.out.connect(ear);
    const samples = new Float32Array(ear.fftSize);
    let most = 0;
    const end = performance.now() + for_ms;
    while (performance.now() < end) {
      ear.getFloatTimeDomainData(samples);
      for (const sample of samples) most = Math.max(most, Math.abs(sample));
      await new Promise((resolve) => { setTimeout(resolve, 30); });
    }
    speaker.voices.out.disconnect(ear);
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
    return speaker.mode === 'rhythm' && (!speaker.waits() || !document.querySelector('#sound').hidden);
  }));
  assert.deepEqual(page.errors, []);
}

tests.push(['the speaker plays while there is work and is silent when it should be', throughAClass]);
