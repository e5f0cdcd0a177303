// Measures what a station costs beyond capture and encoding: processor time of
// the server with one recorded camera, against a bare GStreamer pipeline that
// decodes and encodes the same recording with the same encoder and settings and
// throws the result away. By turns, so that both meet the same machine.
//
//   scripts/measure-encoding [--rounds 3] [--seconds 20] [--judge]
//
// The source is a webcam's form: Motion JPEG, 1280 × 720, 30 a second, at its own
// pace. No screen watches: what one more costs is scripts/measure-memory's.

import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { processorSeconds } from './process.mjs';

const { values: options } = parseArgs({
  options: {
    rounds: { type: 'string', default: '3' },
    seconds: { type: 'string', default: '20' },
    judge: { type: 'boolean', default: false },
  },
});
const MOST = 1.10;
/** Trying out the encoder, filling the first buffers. */
const SETTLE_S = 4;
const seconds = Number(options.seconds);
const rounds = Number(options.rounds);

/** Longer than a round, so that none meets its end. */
function recording() {
  const file = path.join(mkdtempSync(path.join(tmpdir(), 'afterturn-')), 'webcam.mkv');
  const made = spawnSync('ffmpeg', ['-v', 'error', '-f', 'lavfi', '-i', 'testsrc2=size=1280x720:rate=30',
    '-t', String(seconds + 3 * SETTLE_S + 20), '-c:v', 'mjpeg', '-pix_fmt', 'yuvj422p', '-q:v', '5', file]);
  if (made.status !== 0) throw new Error(`no recording: ${made.stderr}`);
  return file;
}

/** What `choice.rs` and `size.rs` have for x264 at this size and rate. */
const ENCODER = ['x264enc', 'tune=zerolatency', 'speed-preset=ultrafast', 'bframes=0', 'b-adapt=false', 'cabac=true',
  'threads=1', 'option-string=scenecut=0', 'bitrate=4000', 'key-int-max=30'];

function bare(file) {
  return spawn('gst-launch-1.0', ['-q', 'filesrc', `location=${file}`, '!', 'matroskademux', '!', 'jpegdec', '!',
    'clocksync', 'sync-to-first=true', '!', 'queue', '!', 'videoconvertscale', '!', 'video/x-raw,format=I420', '!',
    ...ENCODER, '!', 'video/x-h264,profile=main', '!', 'fakesink', 'sync=false'], { stdio: 'ignore' });
}

/** Processor seconds a process takes in one second. */
async function share(pid) {
  await stage.sleep(SETTLE_S * 1000);
  const [before, began] = [processorSeconds(pid), performance.now()];
  await stage.sleep(seconds * 1000);
  return (processorSeconds(pid) - before) / ((performance.now() - began) / 1000);
}

async function ours(file) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 5000, file }], { top: 'encoder = "x264enc"' });
  const info = async () => (await stage.api(server.base, '/api/stations/1')).body;
  await stage.until('it shows', async () => (await info()).camera.state === 'showing', { within_ms: 30000 });
  const used = await share(server.child.pid);
  const { camera } = await info();
  // A ratio of half the pictures would flatter.
  if (camera.state !== 'showing' || camera.notes.length) throw new Error(`not all of it was encoded: ${JSON.stringify(camera)}`);
  await stage.end(server.child);
  return used;
}

async function theirs(file) {
  const child = bare(file);
  try {
    return await share(child.pid);
  } finally {
    child.kill('SIGKILL');
  }
}

let ratio;
try {
  const file = recording();
  const sums = [0, 0];
  for (let round = 1; round <= rounds; round += 1) {
    const pair = [await ours(file), await theirs(file)];
    pair.forEach((used, i) => { sums[i] += used; });
    const [a, b] = pair.map((used) => (used * 100).toFixed(1));
    console.log(`round ${round}: the server ${a} %, bare capture and encoding ${b} % of a core, ratio ${(pair[0] / pair[1]).toFixed(3)}`);
  }
  ratio = sums[0] / sums[1];
  console.log(`ratio over all rounds: ${ratio.toFixed(3)} (at most ${MOST.toFixed(2)})`);
} finally {
  await stage.endAll();
}
console.log(ratio <= MOST ? 'held' : 'not held: processor over bare capture and encoding');
process.exit(options.judge && !(ratio <= MOST) ? 1 : 0);
