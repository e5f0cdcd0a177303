// The corners of a mat, without a page.
import { test } from 'node:test';
import assert from 'node:assert/strict';
import { around, byKey, moved, read, within, written } from '../../web/live/mat-corners.js';

const corners = [{ x: 0, y: 0 }, { x: 10000, y: 0 }, { x: 5000, y: 9000 }];

test('corners come back as they were written, and nothing else is taken for them', () => {
  assert.deepEqual(read(written(corners)), corners);
  for (const other of ['', 'x', '{}', '[]', '[{"x":1,"y":2}]', '[1,2,3]', '[{"x":1},{"x":1},{"x":1}]', 'null']) {
    assert.equal(read(other), null, other);
  }
  assert.deepEqual(read('[{"x":-5,"y":0},{"x":20000,"y":3},{"x":4,"y":4}]'), [{ x: 0, y: 0 }, { x: 10000, y: 3 }, { x: 4, y: 4 }]);
});

test('a corner is moved alone and stays in the picture', () => {
  const after = moved(corners, 1, { x: 12000.4, y: 33.6 });
  assert.deepEqual(after, [corners[0], { x: 10000, y: 34 }, corners[2]]);
  assert.deepEqual(corners[1], { x: 10000, y: 0 }, 'the old ones are left as they were');
  assert.deepEqual(within({ x: -1, y: 10001 }), { x: 0, y: 10000 });
});

test('arrow keys move a corner, and other keys are left alone', () => {
  const at = { x: 5000, y: 5000 };
  assert.deepEqual(byKey(at, 'ArrowLeft', false), { x: 4950, y: 5000 });
  assert.deepEqual(byKey(at, 'ArrowDown', true), { x: 5000, y: 5500 });
  assert.deepEqual(byKey({ x: 10, y: 0 }, 'ArrowUp', true), { x: 10, y: 0 });
  assert.equal(byKey(at, 'Tab', false), null);
  assert.equal(byKey(at, 'Enter', false), null);
});

test('what is covered is all but the mat', () => {
  assert.equal(around(corners), 'M0 0H10000V10000H0Z M0 0L10000 0L5000 9000Z');
});
