// Reading our own segments: web/live/boxes.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readSegment } from '../../web/live/boxes.js';
import { box, fragment, full, init, joined, u32, u64 } from './segments.mjs';

test('an initialisation segment is one', () => {
  assert.deepEqual(readSegment(init()), { kind: 'init' });
});

test('a fragment says its number, capture time, length and whether it is a keyframe', () => {
  const captureUs = 1795500000123457;
  assert.deepEqual(readSegment(fragment({ number: 4294967295, captureUs, durationUs: 33333, keyframe: true })),
    { kind: 'fragment', number: 4294967295, captureUs, durationUs: 33333, keyframe: true });
  assert.equal(readSegment(fragment({ number: 1, captureUs, durationUs: 40000, keyframe: false })).keyframe, false);
});

test('defaults in tfhd and flags in trun are read too', () => {
  // ISO/IEC 14496-12 §8.8.7, §8.8.8: default duration 0x8, default flags 0x20; first-sample-flags 0x4.
  const tfhd = full('tfhd', 0, 0x20028, u32(1), u32(20000), u32(0x1010000));
  const make = (trun) => joined(
    box('moof', full('mfhd', 0, 0, u32(7)), box('traf', tfhd, full('tfdt', 0, 0, u32(99)), trun)), box('mdat', u32(0)));
  assert.deepEqual(readSegment(make(full('trun', 0, 0x1, u32(1), u32(0)))),
    { kind: 'fragment', number: 7, captureUs: 99, durationUs: 20000, keyframe: false });
  assert.equal(readSegment(make(full('trun', 0, 0x5, u32(1), u32(0), u32(0x2000000)))).keyframe, true);
});

test('what is not ours is refused with a reason', () => {
  const good = fragment({ number: 1, captureUs: 5, durationUs: 1, keyframe: true });
  assert.throws(() => readSegment(new ArrayBuffer(0)), /empty/);
  assert.throws(() => readSegment(joined(box('free', u32(0)))), /starts with free/);
  assert.throws(() => readSegment(good.slice(0, good.byteLength - 3)), /does not fit|half a box/);
  assert.throws(() => readSegment(joined(box('moof', full('mfhd', 0, 0, u32(1))), box('mdat'))), /0 traf/);
  const trun = full('trun', 0, 0x300, u32(4000000000), u32(1));
  assert.throws(() => readSegment(joined(box('moof', full('mfhd', 0, 0, u32(1)),
    box('traf', full('tfhd', 0, 0, u32(1)), full('tfdt', 1, 0, u64(5)), trun)), box('mdat'))), /samples/);
});

test('no damaged byte makes it hang or break otherwise than by an error', () => {
  const good = fragment({ number: 1, captureUs: 1795500000123457, durationUs: 33333, keyframe: true });
  for (let at = 0; at < good.byteLength; at += 1) {
    for (const value of [0, 1, 127, 255]) {
      const bad = good.slice(0);
      new Uint8Array(bad)[at] = value;
      try {
        readSegment(bad);
      } catch (problem) {
        assert.equal(problem.constructor, Error, 'byte ' + at + ': ' + problem);
      }
    }
  }
});
