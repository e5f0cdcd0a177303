// Measures keeping while a class runs: four stations of drawn figures, the TV of
// one of them watched; a covered clip of ten seconds and a still, from the press
// to the sealed file, by the requests that a browser makes.
//
//   scripts/measure-keeping [--times 5] [--judge]
//
// late: pictures on the watched TV more than 34 ms off the delay while something
// is made, or missing. `cargo bench --bench keep` has the parts, beside ffmpeg.

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { delayFigures } from './figures.mjs';
import { probe } from './probe.mjs';
import { drawTheMat, keepNow, list, startTheClass } from './browser/keep.mjs';
import { picture } from './browser/seen.mjs';

const { values: options } = parseArgs({
  options: { times: { type: 'string', default: '5' }, judge: { type: 'boolean', default: false } },
});
const DELAY_MS = 2000;
const MOST_MS = { clip: 5000, still: 500 };
const LATE_MS = 34;

const stations = [1, 2, 3, 4].map((number) => ({ number, title: `Place ${number}`, delay_ms: DELAY_MS, seed: number, attempt_s: 10 }));
const failures = [];
try {
  const server = await stage.startServer(stations, { lesson: false });
  const child = (await list(server)).split('/').pop();
  await startTheClass(server);
  await drawTheMat(server);
  const browser = await stage.openBrowser();
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(tv);
  // Everybody has settled, and an attempt is in the ring.
  await stage.sleep(25000);
  for (const what of ['clip', 'still']) {
    await tv.evaluate(() => { window.probe.length = 0; });
    const took = [];
    for (let i = 0; i < Number(options.times); i += 1) {
      const began = performance.now();
      await keepNow(server, child, what);
      took.push(Math.round(performance.now() - began));
      await stage.sleep(1000);
    }
    const seen = (await tv.evaluate(() => window.probe.slice())).filter((s) => !s.covered);
    const figures = delayFigures(seen, DELAY_MS);
    const late = seen.filter((s) => Math.abs(s.glass_ms - s.stamp_ms - DELAY_MS) > LATE_MS).length;
    console.log(`${what.padEnd(6)} kept after ${took.join(', ')} ms (at most ${MOST_MS[what]}); on the TV meanwhile: ${seen.length} pictures, ${late} late, p99 ${figures.p99_ms.toFixed(1)} ms`);
    if (took.some((ms) => ms > MOST_MS[what])) failures.push(`a ${what} within ${MOST_MS[what]} ms`);
    if (late > 0) failures.push(`no late picture while a ${what} is made`);
  }
  await browser.close();
} finally {
  await stage.endAll();
}
console.log(failures.length ? `not held: ${failures.join('; ')}` : 'all held');
process.exit(options.judge && failures.length ? 1 : 0);
