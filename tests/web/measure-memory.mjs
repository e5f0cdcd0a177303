// Measures what the server takes: memory of one 720p30 station at 4 Mbit/s with
// a window of 30 s, and the same stretch kept as raw pictures beside it; the
// processor's share for one more pass-through station and one more viewer.
//
//   scripts/measure-memory [--judge]

import { spawn } from 'node:child_process';
import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { processorShare, residentBytes } from './process.mjs';

const { values: options } = parseArgs({ options: { judge: { type: 'boolean', default: false } } });
const MB = 1e6;
const failures = [];
const camera_args = ['--bitrate-kbps', '4000', '--grain', '24'];

function station(number, camera) {
  return { number, title: `Station ${number}`, delay_ms: 10000, window_ms: 30000, url: camera.url };
}

async function info(base, number) {
  return (await stage.api(base, `/api/stations/${number}`)).body;
}

async function full(base, number) {
  await stage.until('the ring is full', async () => {
    const { oldest_us, newest_us } = await info(base, number);
    return newest_us - oldest_us > 29.5e6;
  }, { within_ms: 60000, every_ms: 500 });
}

/** Ten seconds of raw pictures in a queue: what a hand-built delay keeps. */
async function rawQueue(url) {
  const child = spawn('gst-launch-1.0', ['-q', 'rtspsrc', 'protocols=tcp', 'latency=0', `location=${url}`, '!',
    'rtph264depay', '!', 'h264parse', '!', 'decodebin', '!', 'videoconvert', '!', 'video/x-raw,format=I420', '!',
    'queue', 'min-threshold-time=10000000000', 'max-size-time=0', 'max-size-bytes=0', 'max-size-buffers=0', '!',
    'fakesink', 'sync=false'], { stdio: 'ignore' });
  await stage.sleep(16000);
  const share = await processorShare(child.pid, 5);
  const bytes = residentBytes(child.pid);
  child.kill('SIGKILL');
  return { bytes, share };
}

async function main() {
  const one = await stage.startCamera(0, [...camera_args, '--seed', '1']);
  const two = await stage.startCamera(0, [...camera_args, '--seed', '2']);

  const alone = await stage.startServer([station(1, one)]);
  const browser = await stage.openBrowser();
  const watched = await stage.openPage(browser, `${alone.base}/tv/1`);
  await full(alone.base, 1);
  await stage.sleep(5000);
  const { ring_bytes } = await info(alone.base, 1);
  const resident = residentBytes(alone.child.pid);
  const limit = 1.15 * ring_bytes + 40 * MB;
  console.log(`ring of 30 s: ${(ring_bytes / MB).toFixed(1)} MB encoded (${((ring_bytes * 8) / 30 / 1e6).toFixed(2)} Mbit/s)`);
  console.log(`whole process: ${(resident / MB).toFixed(1)} MB; limit 1.15 × encoded + 40 MB = ${(limit / MB).toFixed(1)} MB`);
  if (resident > limit) failures.push('memory of one station');
  await stage.sleep(10000);
  console.log(`ten seconds later: ${(residentBytes(alone.child.pid) / MB).toFixed(1)} MB`);

  const with_one = await processorShare(alone.child.pid, 15);
  const second_page = await stage.openPage(browser, `${alone.base}/tv/1`);
  await stage.sleep(3000);
  const with_two = await processorShare(alone.child.pid, 15);
  console.log(`processor, one station, one viewer: ${with_one.toFixed(1)} % of a core`);
  console.log(`one more viewer: ${(with_two - with_one).toFixed(1)} %`);
  await second_page.context().close();
  await watched.context().close();
  await browser.close();
  const unwatched = await processorShare(alone.child.pid, 15);
  await stage.end(alone.child);

  const both = await stage.startServer([station(1, one), station(2, two)]);
  await full(both.base, 2);
  const pair = await processorShare(both.child.pid, 15);
  console.log(`processor, one station, nobody watching: ${unwatched.toFixed(1)} %; one more pass-through station: ${(pair - unwatched).toFixed(1)} %`);
  console.log(`two stations: ${(residentBytes(both.child.pid) / MB).toFixed(1)} MB`);
  await stage.end(both.child);

  const raw = await rawQueue(one.url);
  console.log(`beside it, raw pictures in a queue of 10 s: ${(raw.bytes / MB).toFixed(0)} MB, ${raw.share.toFixed(0)} % of a core`);
}

try {
  await main();
} finally {
  await stage.endAll();
}
console.log(failures.length ? `not held: ${failures.join(', ')}` : 'all figures held');
process.exit(options.judge && failures.length ? 1 : 0);
