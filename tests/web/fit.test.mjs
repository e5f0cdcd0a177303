// What gives way when not everything on a sheet has room.
import test from 'node:test';
import assert from 'node:assert/strict';
import { arrange, SHARES } from '../../web/live/fit.js';
import { inkRows } from '../../web/live/capital.js';

const PARTS = ['task', 'levels', 'reminder-1', 'reminder-2', 'late'];

/** A page with so much room in the words' part, where each part takes as much as is said. */
function page(room, needs) {
  return (a) => {
    const kept = Object.keys(needs).filter((part) => !a.without.includes(part));
    const taken = kept.reduce((sum, part) => sum + needs[part] * (part === 'cue' ? a.cue : a.letter) ** 2, 0);
    return taken <= room * (1 - a.share);
  };
}

const needs = (each) => Object.fromEntries([...PARTS.map((part) => [part, each]), ['cue', each]]);

test('where there is room, nothing goes, the picture is large and the cue grows', () => {
  const found = arrange(PARTS, 1, page(1000, needs(1)));
  assert.deepEqual(found.without, []);
  assert.equal(found.share, SHARES[0]);
  assert.ok(found.cue > found.letter);
});

test('letters and picture give way before any part does', () => {
  const fits = page(10, needs(0.76));
  const found = arrange(PARTS, 1.3, fits);
  assert.deepEqual(found, { share: SHARES[SHARES.length - 1], letter: 1, cue: 1, without: [] });
  // With a little more room the picture is larger, with much more the letters are.
  assert.ok(arrange(PARTS, 1.3, page(11.5, needs(0.76))).share > found.share);
  assert.equal(arrange(PARTS, 1.3, page(30, needs(0.76))).letter, 1.3);
});

test('the least important parts go first, and no more than have to', () => {
  for (const [room, gone] of [[11, 1], [9, 2], [7, 3], [5, 4], [3, 5]]) {
    const found = arrange(PARTS, 1, page(room, needs(1)));
    assert.deepEqual(found.without, PARTS.slice(PARTS.length - gone), `room for ${room}`);
    assert.ok(found.letter >= 1 && found.cue >= 1, 'no letter is too small');
  }
});

test('where a long part has no room, a short one that matters less may', () => {
  const found = arrange(PARTS, 1, page(9, { ...needs(1), levels: 8 }));
  assert.deepEqual(found.without, ['levels', 'late']);
});

test('a cue that has no room even alone is shown all the same, smaller', () => {
  const found = arrange(PARTS, 1, page(1.5, needs(1)));
  assert.deepEqual(found.without, PARTS);
  assert.ok(found.cue < 1 && found.cue >= 0.5);
  const never = arrange(PARTS, 1, () => false);
  assert.ok(never.cue > 0, 'and never nothing');
});

test('what is arranged fits', () => {
  for (let room = 3; room < 60; room += 0.7) {
    for (const ease of [1, 1.2, 1.5]) {
      const fits = page(room, needs(1));
      assert.ok(fits(arrange(PARTS, ease, fits)), `${room} ${ease}`);
    }
  }
});

test('ink is counted from the first row that has any to the last', () => {
  const picture = new Uint8ClampedArray(4 * 3 * 6);
  assert.equal(inkRows(picture, 3, 6), 0);
  picture[(1 * 3 + 2) * 4 + 3] = 200;
  picture[(4 * 3 + 0) * 4 + 3] = 128;
  picture[(5 * 3 + 0) * 4 + 3] = 127;
  assert.equal(inkRows(picture, 3, 6), 4);
});
