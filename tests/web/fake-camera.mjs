// A camera for a real Chromium: a recording whose every picture carries a number
// in the time strip (src/core/media/strip.rs), and what that number stands for,
// read from the publishing page itself, which knows when each was captured.
//
// Not here: any expectation.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

/** Any time will do; it is only read back. */
const FIRST_MS = 1790000000000;
const CELLS = 48;

/** The strip's 48 cells for a time. */
function cells(ms) {
  const bits = [...ms.toString(2).padStart(42, '0')].map(Number);
  return [1, 0, 1, 0, ...bits, bits.reduce((a, b) => a ^ b, 0), 0];
}

/** One grey picture: the strip, a hall, a mat, somebody who crosses it. */
function picture(frame, width, height) {
  const grey = Buffer.alloc(width * height);
  for (let y = 0; y < height; y += 1) grey.fill(50 + Math.floor((y * 60) / height), y * width, (y + 1) * width);
  for (let y = Math.floor(height * 0.65); y < height * 0.9; y += 1) grey.fill(150, y * width + width * 0.2, y * width + width * 0.8);
  const x = Math.floor(width * (0.1 + 0.7 * ((frame % 90) / 90)));
  for (let y = Math.floor(height * 0.4); y < height * 0.75; y += 1) grey.fill(215, y * width + x, y * width + x + width / 20);
  const strip = cells(FIRST_MS + frame * 40);
  const rows = height / 45;
  for (let y = 0; y < rows; y += 1) {
    strip.forEach((bit, i) => grey.fill(bit ? 235 : 16, y * width + Math.round((i * width) / CELLS), y * width + Math.round(((i + 1) * width) / CELLS)));
  }
  return grey;
}

/** A recording of so many seconds at 30 pictures a second, as Motion JPEG. */
export async function makeRecording({ seconds = 20, width = 1280, height = 720 } = {}) {
  const file = path.join(mkdtempSync(path.join(tmpdir(), 'afterturn-camera-')), 'camera.mjpeg');
  const encoder = spawn('ffmpeg', ['-loglevel', 'error', '-f', 'rawvideo', '-pix_fmt', 'gray', '-s', `${width}x${height}`, '-r', '30',
    '-i', '-', '-c:v', 'mjpeg', '-pix_fmt', 'yuvj420p', '-q:v', '4', '-f', 'mjpeg', file], { stdio: ['pipe', 'inherit', 'inherit'] });
  for (let frame = 0; frame < seconds * 30; frame += 1) {
    if (!encoder.stdin.write(picture(frame, width, height))) await once(encoder.stdin, 'drain');
  }
  encoder.stdin.end();
  const [code] = await once(encoder, 'exit');
  if (code !== 0) throw new Error(`ffmpeg ended with ${code}`);
  return file;
}

/** What makes a Chromium take the recording for its camera. */
export const cameraArgs = (file) => [
  '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${file}`,
  '--use-fake-ui-for-media-stream', '--allow-loopback-in-peer-connection',
];

/** Runs in the publishing page: when each number was captured last, on the wall clock. */
export function captures() {
  const seen = {};
  window.captures = seen;
  const brush = new OffscreenCanvas(96, 1).getContext('2d', { willReadFrequently: true });
  const read = (video) => {
    const rows = video.videoHeight / 45;
    brush.imageSmoothingEnabled = false;
    brush.drawImage(video, 0, rows / 4, video.videoWidth, rows / 2, 0, 0, 96, 1);
    const { data } = brush.getImageData(0, 0, 96, 1);
    let ms = 0;
    for (let cell = 4; cell < 46; cell += 1) ms = ms * 2 + (data[(cell * 2 + 1) * 4 + 1] > 127 ? 1 : 0);
    return ms;
  };
  addEventListener('DOMContentLoaded', () => {
    const video = document.querySelector('#own');
    const each = (now, meta) => {
      video.requestVideoFrameCallback(each);
      if (meta.captureTime) (seen[read(video)] = seen[read(video)] || []).push(performance.timeOrigin + meta.captureTime);
    };
    if (video) video.requestVideoFrameCallback(each);
  });
}

/**
 * What was seen on the glass, with the time each picture was really captured in
 * place of its number.
 */
export function withCaptures(seen, captured, delay_ms) {
  return seen.map((s) => {
    const times = captured[s.strip_ms] || [];
    // The recording begins again: the capture nearest to where it should be.
    const due = s.glass_ms - delay_ms;
    const nearest = times.reduce((best, t) => (best === null || Math.abs(t - due) < Math.abs(best - due) ? t : best), null);
    return { ...s, strip_ms: nearest };
  });
}

/** Runs in the TV page: for each picture, its number and where somebody bright stands. */
export function look() {
  const looked = [];
  window.looked = looked;
  const wide = 128;
  const brush = new OffscreenCanvas(wide, 3).getContext('2d', { willReadFrequently: true });
  const strip = new OffscreenCanvas(96, 1).getContext('2d', { willReadFrequently: true });
  const each = (video) => () => {
    video.requestVideoFrameCallback(each(video));
    const [w, h] = [video.videoWidth, video.videoHeight];
    strip.imageSmoothingEnabled = false;
    strip.drawImage(video, 0, h / 180, w, h / 90, 0, 0, 96, 1);
    const bits = strip.getImageData(0, 0, 96, 1).data;
    let ms = 0;
    for (let cell = 4; cell < 46; cell += 1) ms = ms * 2 + (bits[(cell * 2 + 1) * 4 + 1] > 127 ? 1 : 0);
    brush.drawImage(video, 0, h * 0.45, w, h * 0.15, 0, 0, wide, 3);
    const row = brush.getImageData(0, 1, wide, 1).data;
    const bright = [];
    for (let x = 0; x < wide; x += 1) if (row[x * 4 + 1] > 150) bright.push((x + 0.5) / wide);
    looked.push({ ms, bright });
  };
  const begin = () => {
    const video = document.querySelector('video');
    if (video) video.requestVideoFrameCallback(each(video));
  };
  if (document.readyState === 'loading') document.addEventListener('DOMContentLoaded', begin);
  else begin();
}

/** How many of these pictures show anybody where the recording has nobody, or nobody where it has. */
export function spoilt(looked) {
  return looked.filter(({ ms, bright }) => {
    const frame = (ms - FIRST_MS) / 40;
    if (!Number.isInteger(frame) || frame < 0 || frame > 10000) return true;
    const left = 0.1 + 0.7 * ((frame % 90) / 90);
    const right = left + 0.05;
    return bright.length === 0 || bright.some((x) => x < left - 0.015 || x > right + 0.015);
  }).length;
}
