// Whether the TV page recovers in browser engines other than a current
// Chromium: real camera, real server, one engine and one fault at a time.
//
//   scripts/try-engines [--only firefox|webkitgtk|chromium78] [--faults NAME,…] [--delay 2]
//   scripts/try-engines --kept [--only firefox|webkitgtk]
//   scripts/try-engines --https [--only firefox|webkitgtk|chromium]
//
// It has recovered when the late picture moves again, uncovered, by itself and
// without the page being loaded anew. How long that took and how far it then is
// from its delay is printed and not judged: that is measured in Chromium.

import { parseArgs } from 'node:util';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { back, offBy } from './back.mjs';
import { faults, QUIRK_AT_S } from './faults.mjs';
import { ENGINES as HTTPS_ENGINES, tryHttps } from './https.mjs';
import { tryKept } from './kept.mjs';

const ENGINES = ['firefox', 'webkitgtk', 'chromium78'];
/** Generous: a machine busy with other things, and back-off of up to ten seconds. */
const LONGEST_MS = 45000;
const LOOK_MS = 250;
/** How it stands is read over this long, this long after it is back. */
const SETTLES_MS = 3000;
const READ_MS = 4000;

const { values: options } = parseArgs({
  options: {
    https: { type: 'boolean', default: false },
    kept: { type: 'boolean', default: false },
    only: { type: 'string' },
    faults: { type: 'string', default: faults.map((fault) => fault.name).join(',') },
    delay: { type: 'string', default: '2' },
  },
});
const delay_ms = Number(options.delay) * 1000;

/** The named ones of a list, or an end with the names there are. */
function chosen(what, names, there) {
  const unknown = names.find((name) => !there.includes(name));
  if (unknown !== undefined) {
    console.error(`no ${what} is called ${unknown}; there are ${there.join(', ')}`);
    process.exit(2);
  }
  return names;
}
const there = options.https ? HTTPS_ENGINES : options.kept ? ENGINES.slice(0, 2) : ENGINES;
const engines = chosen('engine', (options.only || there.join(',')).split(','), there);
if (options.kept) process.exit(await tryKept(engines) ? 0 : 1);
if (options.https) process.exit(await tryHttps(engines) ? 0 : 1);
const wanted = chosen('fault', options.faults.split(','), faults.map((fault) => fault.name));

/** Collects script errors, and what the page warns of. Runs inside the page. */
function noteProblems() {
  window.problems = [];
  window.warnings = [];
  const warn = console.warn;
  console.warn = (...parts) => {
    window.warnings.push(`${(performance.now() / 1000).toFixed(1)} s: ${parts.join(' ')}`);
    warn.apply(console, parts);
  };
  window.addEventListener('error', (event) => window.problems.push(String(event.message)));
  window.addEventListener('unhandledrejection', (event) => window.problems.push(String(event.reason)));
}

/** What the probe in the page has seen since it was last asked. Runs inside the page. */
function take() {
  return window.probe === undefined ? null : { seen: window.probe.splice(0), problems: window.problems };
}

/** For whoever has to find out why. Runs inside the page. */
function standing() {
  const video = document.querySelector('video');
  const card = document.querySelector('#card');
  const ranges = [];
  for (let i = 0; i < video.buffered.length; i += 1) ranges.push([video.buffered.start(i), video.buffered.end(i)]);
  const page = window.afterturn;
  return {
    card: card.hidden ? null : card.dataset.kind,
    at_s: video.currentTime,
    ranges,
    paused: video.paused,
    seeking: video.seeking,
    ready: video.readyState,
    rate: video.playbackRate,
    error: video.error && `${video.error.code} ${video.error.message}`,
    width_px: video.videoWidth,
    tier: page.player.tier,
    built: page.source.built,
    warnings: window.warnings,
  };
}

/** The glass of one screen as seen from outside. */
class Glass {
  constructor(screen) {
    this.screen = screen;
    this.seen = [];
  }

  async look() {
    const news = await this.screen.evaluate(`(${take})()`);
    if (news === null) throw new Error('the page was loaded anew');
    if (news.problems.length > 0) throw new Error(`script error: ${news.problems.join('; ')}`);
    this.seen.push(...news.seen);
  }

  /** Waits until the late picture is there, of what was taken after `good_ms`. */
  async isBack(good_ms, within_ms) {
    let first = null;
    try {
      await stage.until('the late picture is on the glass', async () => {
        await this.look();
        first = back(this.seen, good_ms, delay_ms);
        return first !== null;
      }, { within_ms, every_ms: LOOK_MS });
    } catch (problem) {
      const last = this.seen[this.seen.length - 1];
      throw new Error(`${problem.message}; ${this.seen.length} seen, ${JSON.stringify([last, await this.stands()])}`);
    }
    return first;
  }

  stands() {
    return this.screen.evaluate(`(${standing})()`);
  }

  /** The longest stretch of capture time that was passed over. */
  hole_ms() {
    const strips = this.seen.filter((one) => one.strip_ms !== null).map((one) => one.strip_ms);
    return Math.max(0, ...strips.slice(1).map((ms, i) => ms - strips[i]));
  }
}

async function suffer(engine, fault) {
  const quirks = (fault.quirks || []).flatMap((quirk) => ['--quirk', quirk]);
  const camera = await stage.startCamera(0, quirks);
  const stations = [{ number: 1, title: 'Low beam', delay_ms, url: camera.url }];
  const server = await stage.startServer(stations);
  const set = { camera, server, stations, screen: null, serving_ms: Date.now() };
  try {
    const init = `(${noteProblems})(); (${probe})(); ${fault.init || ''}`;
    set.screen = await engine.show(`${server.base}/tv/1`, init);
    const glass = new Glass(set.screen);
    // Without a picture there is nothing to recover.
    await glass.isBack(0, QUIRK_AT_S * 1000 - (Date.now() - set.serving_ms));
    const good_ms = await fault.make(set);
    const first = await glass.isBack(good_ms, LONGEST_MS);
    const hole_ms = glass.hole_ms();
    if (hole_ms < (fault.hole_ms || 0)) throw new Error(`nothing happened: only ${hole_ms} ms are missing`);
    await stage.sleep(SETTLES_MS);
    await glass.look();
    glass.seen.length = 0;
    await stage.sleep(READ_MS);
    await glass.look();
    const stands = await glass.stands();
    if (fault.width_px && stands.width_px !== fault.width_px) throw new Error(`it is ${stands.width_px} wide`);
    return { back_ms: first.glass_ms - good_ms, ...offBy(glass.seen, delay_ms), ...stands };
  } finally {
    if (set.screen !== null) await set.screen.close();
    await Promise.all([stage.end(set.camera.child, 'SIGKILL'), stage.end(set.server.child, 'SIGKILL')]);
  }
}

const outcomes = [];
try {
  for (const name of engines) {
    const { open } = await import(`./${name}.mjs`);
    let engine = await open();
    const { version } = engine;
    console.log(`${name}: ${version}`);
    for (const fault of faults.filter((one) => wanted.includes(one.name))) {
      let said;
      let recovered = false;
      try {
        const r = await suffer(engine, fault);
        recovered = true;
        said = `back ${(r.back_ms / 1000).toFixed(1)} s after good input; then ${r.middle_ms.toFixed(0)} ms from the delay, `
          + `p95 ${r.p95_ms.toFixed(0)} ms, ${(r.pictures / READ_MS * 1000).toFixed(0)} pictures/s; tier ${r.tier}, built ${r.built}×`
          + r.warnings.map((warning) => `\n    ${warning}`).join('');
      } catch (problem) {
        said = `NOT BACK: ${problem.message}`;
        // Whatever state it is in, the next fault is not to inherit it.
        await engine.close().catch((closing) => console.error(`closing ${name}: ${closing.message}`));
        engine = await open();
      }
      outcomes.push({ name, version, recovered });
      console.log(`${name.padEnd(11)} ${fault.name.padEnd(20)} ${said}`);
    }
    await engine.close();
  }
} finally {
  await stage.endAll();
}
for (const name of engines) {
  const own = outcomes.filter((one) => one.name === name);
  console.log(`${name} ${own[0].version}: recovered from ${own.filter((one) => one.recovered).length} of ${own.length}`);
}
process.exit(outcomes.every((one) => one.recovered) ? 0 : 1);
