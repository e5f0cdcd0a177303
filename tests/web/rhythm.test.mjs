// The rhythm that the page makes itself.

import assert from 'node:assert/strict';
import test from 'node:test';
import { BAR_S, hertz, notesOf } from '../../web/live/rhythm.js';

test('every note falls into its bar, in order', () => {
  for (let bar = 0; bar < 512; bar += 1) {
    let last = 0;
    for (const note of notesOf(bar)) {
      assert.ok(note.atS >= last && note.atS < BAR_S, `bar ${bar}`);
      assert.ok(note.level > 0 && note.level <= 1);
      last = note.atS;
    }
  }
});

test('it is the same at the same bar and does not go round in circles', () => {
  const eight = (from) => JSON.stringify(Array.from({ length: 8 }, (_, i) => notesOf(from + i)));
  assert.equal(eight(16), eight(16));
  const seen = new Set();
  for (let from = 0; from < 256; from += 8) seen.add(eight(from));
  assert.equal(seen.size, 32);
});

test('it never falls silent for longer than half a bar', () => {
  for (let bar = 0; bar < 256; bar += 1) {
    const times = notesOf(bar).map((note) => note.atS);
    times.push(BAR_S);
    for (let i = 1; i < times.length; i += 1) assert.ok(times[i] - times[i - 1] <= BAR_S / 2);
  }
});

// ISO 16:1975: A4 is 440 Hz. MIDI 1.0: key 69 is A4 (both from memory).
test('keys are tuned', () => {
  assert.equal(hertz(69), 440);
  assert.equal(hertz(57), 220);
  assert.ok(Math.abs(hertz(60) - 261.63) < 0.01);
});
