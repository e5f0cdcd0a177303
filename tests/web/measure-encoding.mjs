// Measures what a station costs beyond capture and encoding: processor time of
// the server with one recorded camera, against a bare GStreamer pipeline that
// decodes and encodes the same recording with the same encoder and settings and
// throws the result away. Both at once, in the same seconds: on a machine that is
// shared, one and the same pipeline takes half as much again a minute later. It
// takes two cores. With --by-turns each has the machine to itself.
//
//   scripts/measure-encoding [--rounds 3] [--seconds 20] [--by-turns] [--judge]
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
    'by-turns': { type: 'boolean', default: false },
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

const now_s = () => performance.now() / 1000;

/** Processor seconds each process takes in one second, over the same seconds. */
async function shares(...pids) {
  const look = () => pids.map((pid) => ({ used_s: processorSeconds(pid), at_s: now_s() }));
  await stage.sleep(SETTLE_S * 1000);
  const before = look();
  await stage.sleep(seconds * 1000);
  return look().map(({ used_s, at_s }, i) => (used_s - before[i].used_s) / (at_s - before[i].at_s));
}

async function startOurs(file) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 5000, file }], { top: 'encoder = "x264enc"' });
  const camera = async () => (await stage.api(server.base, '/api/stations/1')).body.camera;
  await stage.until('it shows', async () => (await camera()).state === 'showing', { within_ms: 30000 });
  return {
    pid: server.child.pid,
    async end() {
      const { state, notes } = await camera();
      // A ratio of half the pictures would flatter.
      if (state !== 'showing' || notes.length) throw new Error(`not all of it was encoded: ${state}, ${JSON.stringify(notes)}`);
      await stage.end(server.child);
    },
  };
}

function startTheirs(file) {
  const child = bare(file);
  return {
    pid: child.pid,
    async end() {
      if (child.exitCode !== null) throw new Error('bare capture and encoding ended too soon');
      child.kill('SIGKILL');
    },
  };
}

async function atOnce(file) {
  const both = [await startOurs(file), startTheirs(file)];
  const used = await shares(...both.map(({ pid }) => pid));
  for (const one of both) await one.end();
  return used;
}

async function byTurns(file) {
  const used = [];
  for (const start of [startOurs, startTheirs]) {
    const one = await start(file);
    used.push(...await shares(one.pid));
    await one.end();
  }
  return used;
}

let ratio;
try {
  const file = recording();
  const sums = [0, 0];
  for (let round = 1; round <= rounds; round += 1) {
    const pair = await (options['by-turns'] ? byTurns : atOnce)(file);
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
