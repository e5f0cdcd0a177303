// What the remote says while a camera is set up.
import test from 'node:test';
import assert from 'node:assert/strict';
import { calibrationSaid, latencySaid, orderNow, sightSaid } from '../../web/live/setup.js';

const words = (id, values) => [id].concat(values ? Object.keys(values).map((k) => `${k}=${values[k]}`) : []).join(' ');

test('a calibration says how it goes and how it went', () => {
  assert.equal(calibrationSaid(null, words), '');
  assert.equal(calibrationSaid({ state: 'running', changes: 3, wanted: 20 }, words), 'live-calibration-running changes=3 wanted=20');
  assert.equal(calibrationSaid({ state: 'found', latency_ms: 240, unsure_ms: 6 }, words), 'live-calibration-found ms=240 unsure=6');
  assert.equal(calibrationSaid({ state: 'refused', why: 'not_found', detail: '0 changes seen' }, words), 'live-calibration-not-found');
});

test('only a missing part is said as the technician has it', () => {
  const lacks = { state: 'refused', why: 'no_decoder', detail: 'GStreamer lacks avdec_h264' };
  assert.equal(calibrationSaid(lacks, words), 'live-calibration-no-decoder GStreamer lacks avdec_h264');
});

test('a measured figure is told from the one in the file', () => {
  assert.equal(latencySaid({ file_ms: 200, now_ms: 200 }, words), 'live-latency ms=200');
  assert.equal(latencySaid({ file_ms: 200, now_ms: 240 }, words), 'live-latency-measured ms=240 file=200');
});

test('the button stops what runs and starts what does not', () => {
  assert.equal(orderNow(null), 'start');
  assert.equal(orderNow({ state: 'running', changes: 0, wanted: 20 }), 'stop');
  assert.equal(orderNow({ state: 'found', latency_ms: 1, unsure_ms: 1 }), 'start');
});

test('of a camera that sees well nothing is said', () => {
  assert.equal(sightSaid(null, words), '');
  assert.equal(sightSaid('out_of_focus', words), 'live-sight-out-of-focus');
});
