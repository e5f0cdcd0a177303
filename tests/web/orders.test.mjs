// Which order a button gives: web/live/orders.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { idOf, orderOf } from '../../web/live/orders.js';

const plain = { paused: false, covered_from_us: null };

test('a switch gives the order that changes how the station stands', () => {
  assert.equal(orderOf('pause', plain), 'pause');
  assert.equal(orderOf('pause', { ...plain, paused: true }), 'resume');
  assert.equal(orderOf('cover', plain), 'cover_from_now');
  assert.equal(orderOf('cover', { ...plain, covered_from_us: 5 }), 'uncover');
});

test('the others give the same order however it stands', () => {
  for (const order of ['dont_show', 'wipe']) {
    assert.equal(orderOf(order, plain), order);
    assert.equal(orderOf(order, { paused: true, covered_from_us: 1 }), order);
  }
  assert.equal(idOf('cover_from_now'), 'cover-from-now');
});
