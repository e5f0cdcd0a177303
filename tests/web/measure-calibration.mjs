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
import { calibrate, startDisplay, startFilmed } from './filmed.mjs';
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
const failures = [];

async function once(display, latency_ms) {
  const { server, page, close } = await startFilmed(display, latency_ms);
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
  await close();
  return found;
}

async function main() {
  const { child, display } = await startDisplay();
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
