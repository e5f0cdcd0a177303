// Measures what a calibration finds, with all of it real: Chromium shows the
// station's TV page on a display, a camera films that display and sends it by
// RTSP, late by a known time.
//
//   scripts/measure-calibration [--latencies 0,100,250,400] [--rounds 2] [--judge]
//
// What is found is the whole loop: the known time, and what display, capture,
// encoder and network take besides. The first latency, 0, shows that alone.

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { median } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    latencies: { type: 'string', default: '0,100,250,400' },
    rounds: { type: 'string', default: '2' },
    judge: { type: 'boolean', default: false },
  },
});
/** What the figure is held to. */
const EXACT_MS = 20;
const WIDTH = 1280;
const HEIGHT = 720;
const failures = [];

const ask = (base, order) => stage.api(base, '/api/stations/1/calibration', {
  method: 'POST',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify({ order }),
});

async function calibrate(base) {
  const began_ms = Date.now();
  const { body } = await ask(base, 'start');
  if (body.calibration.state !== 'running') return { ...body.calibration, took_ms: 0 };
  const over = await stage.until('the calibration ends', async () => {
    const { body: now } = await stage.api(base, '/api/stations/1');
    return now.calibration && now.calibration.state !== 'running' && now.calibration;
  }, { within_ms: 30000, every_ms: 100 });
  return { ...over, took_ms: Date.now() - began_ms };
}

async function once(display, latency_ms) {
  const camera = await stage.startCamera(0, ['--films-display', display, '--latency-ms', String(latency_ms),
    '--size', `${WIDTH}x${HEIGHT}`]);
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, url: camera.url, latency_ms: 0 }]);
  const browser = await stage.openBrowser({ display, size: [WIDTH, HEIGHT] });
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { viewport: null });
  await stage.until('the camera shows', async () => (await stage.api(server.base, '/api/stations/1')).body.camera.state === 'showing');
  // Until the page has settled, and the offset of the camera's stamps with it.
  await stage.sleep(4000);
  const found = [];
  for (let round = 0; round < Number(options.rounds); round += 1) {
    const over = await calibrate(server.base);
    const what = over.state === 'found'
      ? `${over.latency_ms} ms, give or take ${over.unsure_ms}, off by ${over.latency_ms - latency_ms}`
      : `${over.state}: ${over.why} (${over.detail})`;
    console.log(`known ${String(latency_ms).padStart(4)} ms   found ${what}   after ${(over.took_ms / 1000).toFixed(1)} s`);
    if (over.state === 'found') found.push(over.latency_ms);
    if (over.state !== 'found' || Math.abs(over.latency_ms - latency_ms) > EXACT_MS) failures.push(`${latency_ms} ms: ${what}`);
    await stage.sleep(2500);
  }
  if (page.errors.length) failures.push(`script errors: ${page.errors}`);
  await browser.close();
  await stage.end(server.child);
  await stage.end(camera.child);
  return found;
}

async function main() {
  const { child, match } = await stage.startFile('Xvfb',
    ['-displayfd', '1', '-screen', '0', `${WIDTH}x${HEIGHT}x24`, '-nolisten', 'tcp'], /^(\d+)\n/);
  const display = `:${match[1]}`;
  let alone;
  for (const latency_ms of options.latencies.split(',').map(Number)) {
    const found = await once(display, latency_ms);
    if (latency_ms === 0 && found.length) alone = median(found);
    else if (alone !== undefined && found.length) {
      console.log(`             beyond what the loop takes by itself: ${median(found) - alone} ms of ${latency_ms}`);
    }
  }
  await stage.end(child);
}

try {
  await main();
} finally {
  await stage.endAll();
}
console.log(failures.length ? `\nnot held:\n  ${failures.join('\n  ')}` : `\nall within ${EXACT_MS} ms`);
process.exit(options.judge && failures.length ? 1 : 0);
