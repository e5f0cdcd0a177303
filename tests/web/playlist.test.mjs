// Which of the teacher's files comes next: web/live/playlist.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { address, after, any, heardOf, NONE, without } from '../../web/live/playlist.js';

/** The places of so many that come one after the other. */
function played(list, times) {
  const places = [];
  for (let i = 0; i < times; i += 1) {
    places.push(list.at);
    list = after(list);
  }
  return places;
}

test('in their order, round and round', () => {
  assert.deepEqual(played(heardOf(NONE, 1, 3), 7), [0, 1, 2, 0, 1, 2, 0]);
  assert.deepEqual(played(heardOf(NONE, 1, 1), 3), [0, 0, 0]);
});

test('what could not be played is left out from then on', () => {
  const list = without(after(heardOf(NONE, 1, 3)));
  assert.deepEqual(list.failed, [1]);
  assert.deepEqual(played(list, 4), [2, 0, 2, 0]);
  assert.deepEqual(without(list).failed, [1, 2]);
});

test('without any there is nothing to play', () => {
  assert.equal(any(NONE), false);
  let list = heardOf(NONE, 1, 2);
  assert.equal(any(list), true);
  list = without(without(list));
  assert.equal(any(list), false);
  assert.deepEqual(played(list, 2).length, 2, 'and it ends');
});

test('the same list goes on where it was, another begins', () => {
  const list = after(heardOf(NONE, 4, 3));
  assert.equal(heardOf(list, 4, 3), list);
  assert.equal(heardOf(without(list), 5, 3).at, 0);
  assert.deepEqual(heardOf(without(list), 5, 3).failed, []);
});

test('a file is named by its place and never by what it is called', () => {
  assert.equal(address(after(heardOf(NONE, 7, 3))), '/api/sound/files/7/1');
});
