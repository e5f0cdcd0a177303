// The figures that judge a screen are right themselves.

import assert from 'node:assert/strict';
import test from 'node:test';
import { faultFigures } from './figures.mjs';

const DELAY_MS = 2000;

/** Pictures taken 33 ms apart in a stretch of time, each shown so much too late. */
function taken(from_ms, to_ms, late_ms, covered = false) {
  const list = [];
  for (let at = from_ms; at < to_ms; at += 33) {
    list.push({ stamp_ms: at, glass_ms: at + DELAY_MS + late_ms(at), covered });
  }
  return list;
}

const onTime = () => 5;
const fault = { fault_ms: 10000, good_ms: 12000, delay_ms: DELAY_MS };

test('a fault that is over at once', () => {
  const figures = faultFigures(taken(8000, 20000, onTime), { ...fault, good_ms: 10000 });
  assert.ok(figures.cut_ms > 0 && figures.cut_ms <= 33, `${figures.cut_ms}`);
  assert.ok(figures.back_ms >= 5 && figures.back_ms <= 38, `${figures.back_ms}`);
  assert.deepEqual([figures.held_ms, figures.right_ms], [33, 0]);
});

test('the first good picture counts from when it was due, and what was covered was not seen', () => {
  const seen = [...taken(8000, 9500, onTime), ...taken(12000, 12700, onTime, true), ...taken(12700, 20000, onTime)];
  const figures = faultFigures(seen, fault);
  assert.equal(figures.back_ms, 705);
  assert.ok(figures.cut_ms >= 500 && figures.cut_ms <= 533, `${figures.cut_ms}`);
});

test('right is from when it stays so', () => {
  // Late at first, then early, then right, with an outlier that is forgiven.
  const late = (at) => (at < 12500 ? 300 : at < 13000 ? -50 : 2);
  const seen = taken(12000, 20000, late);
  seen[180].glass_ms += 60;
  const { right_ms } = faultFigures(seen, fault);
  // Shown at 14300 first, and right with what was due at 15000.
  assert.ok(right_ms >= 700 - 35 && right_ms <= 700 + 35, `${right_ms}`);
});

test('what never came right, or never came, is no number', () => {
  const never = faultFigures(taken(12000, 20000, () => 50), fault);
  assert.ok(Number.isNaN(never.right_ms) && never.back_ms === 50);
  const gone = faultFigures(taken(8000, 10000, onTime), fault);
  assert.ok(Number.isNaN(gone.back_ms) && Number.isNaN(gone.right_ms));
  const brief = faultFigures(taken(12000, 12500, onTime), fault);
  assert.ok(Number.isNaN(brief.right_ms), 'half a second says nothing');
});
