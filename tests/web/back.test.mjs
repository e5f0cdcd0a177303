// What counts as the late picture being back: tests/web/engines/back.mjs.
import test from 'node:test';
import assert from 'node:assert/strict';
import { back, offBy } from './engines/back.mjs';

const DELAY_MS = 2000;

/** A picture every 33 ms from `from` to `to` on the glass, taken the delay and `late` before. */
function playing(from, to, { late = 0, covered = false, every = 33 } = {}) {
  const seen = [];
  for (let ms = from; ms < to; ms += every) seen.push({ glass_ms: ms, strip_ms: ms - DELAY_MS - late, covered });
  return seen;
}

test('a picture that goes on is back from its first one that was taken after good input', () => {
  const seen = playing(10000, 20000);
  assert.equal(back(seen, 0, DELAY_MS).glass_ms, 10000);
  const first = back(seen, 11000, DELAY_MS);
  assert.ok(first.glass_ms >= 13000 && first.glass_ms < 13033);
});

test('what does not last, stands, creeps, is covered or is some other picture is not back', () => {
  assert.equal(back(playing(10000, 11500), 0, DELAY_MS), null, 'too short');
  assert.equal(back(playing(10000, 20000, { covered: true }), 0, DELAY_MS), null, 'covered');
  assert.equal(back(playing(10000, 20000, { late: 3000 }), 0, DELAY_MS), null, 'far too late');
  assert.equal(back(playing(10000, 20000, { late: -1900 }), 0, DELAY_MS), null, 'not late at all');
  assert.equal(back(playing(10000, 20000, { every: 500 }), 0, DELAY_MS), null, 'two pictures a second');
  const frozen = playing(10000, 20000).map((one) => ({ ...one, strip_ms: 8000 }));
  assert.equal(back(frozen, 0, DELAY_MS), null, 'one picture');
  assert.equal(back([], 0, DELAY_MS), null, 'nothing');
});

test('it counts anew after a stop, a cover, or a step back', () => {
  const later = playing(12000, 16000);
  assert.equal(back([...playing(10000, 11000), ...later], 0, DELAY_MS).glass_ms, 12000, 'a stop');
  const covered = [...playing(10000, 11000), ...playing(11000, 12000, { covered: true }), ...later];
  assert.equal(back(covered, 0, DELAY_MS).glass_ms, 12000, 'a cover');
  const stepped = [...playing(10500, 12000), ...playing(12000, 16000, { late: 300 })];
  assert.equal(back(stepped, 0, DELAY_MS).glass_ms, 12000, 'a step back');
});

test('pictures without a readable strip, and the same one noted twice, change nothing', () => {
  const seen = playing(10000, 16000).flatMap((one) => [
    one, { ...one, glass_ms: one.glass_ms + 16 }, { ...one, glass_ms: one.glass_ms + 20, strip_ms: null },
  ]);
  assert.equal(back(seen, 0, DELAY_MS).glass_ms, 10000);
  const off = offBy(seen, DELAY_MS);
  assert.deepEqual([off.middle_ms, off.p95_ms, off.pictures], [0, 0, Math.ceil(6000 / 33)]);
});
