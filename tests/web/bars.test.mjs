// The bars for a camera under calibration: what they are, and when they change.
import test from 'node:test';
import assert from 'node:assert/strict';
import { ACROSS, Changes, HOLD_MS, Refresh, columns } from '../../web/live/bars.js';

const drawn = (ms) => columns(ms).map((light) => (light ? '#' : '.')).join('');

test('the columns are those the program reads', () => {
  // The same times stand in src/core/media/bars.rs.
  assert.equal(drawn(0), '..#.#.#.............................................#..');
  assert.equal(drawn(1790000000123), '..#.#.#..##.#.....##...#...#.#.....##.##...####.##..#..');
  assert.equal(drawn(0).length, ACROSS);
});

test('parity makes the light cells of a time even', () => {
  for (let ms = 1790000000000; ms < 1790000000200; ms += 1) {
    const cells = drawn(ms).slice(8, 51).split('').filter((c) => c === '#').length;
    assert.equal(cells % 2, 0, String(ms));
  }
});

/** Frames at which the time changes, on a screen that refreshes so often. */
function changes(hz, seconds, frames = (ms) => ms) {
  const at = [];
  const all = new Changes();
  for (let i = 0; i < hz * seconds; i += 1) {
    const ms = frames(5000 + i * 1000 / hz);
    if (all.due(ms)) at.push(ms);
  }
  return at;
}

test('never more than two changes a second, and some thirty-five in twenty', () => {
  for (const hz of [24, 30, 50, 60, 120]) {
    const at = changes(hz, 20);
    for (let i = 1; i < at.length; i += 1) assert.ok(at[i] - at[i - 1] >= HOLD_MS, `${hz} Hz: ${at[i] - at[i - 1]}`);
    assert.ok(at.length >= 33 && at.length <= 37, `${hz} Hz: ${at.length}`);
  }
});

test('changes fall on every part of a camera\'s picture', () => {
  for (const picture_ms of [1000 / 30, 40, 1000 / 15]) {
    const parts = new Set(changes(120, 20).map((ms) => Math.floor((ms % picture_ms) / picture_ms * 4)));
    assert.equal(parts.size, 4, `pictures of ${picture_ms} ms`);
  }
});

test('a page that slept does not catch up', () => {
  const at = changes(60, 20, (ms) => (ms > 9000 ? ms + 30000 : ms));
  for (let i = 1; i < at.length; i += 1) assert.ok(at[i] - at[i - 1] >= HOLD_MS, `${at[i] - at[i - 1]}`);
});

test('a refresh is the middle of those seen, whatever one frame does', () => {
  const refresh = new Refresh();
  assert.ok(Math.abs(refresh.frame(0) - 16.7) < 0.1);
  let said = 0;
  for (const ms of [20, 40, 60, 160, 180, 200]) said = refresh.frame(ms);
  assert.equal(said, 20);
});
