// Who is not shown in a class that runs: what the remote says and sends.
import assert from 'node:assert/strict';
import test from 'node:test';

import { notKnownSaid, pressedAtFirst, toggled } from '../../web/live/shown.js';
const running = (notKnown) => ({ not_known: notKnown, groups: [{ group: 1, children: 4 }, { group: 2, children: 0 }] });
const words = (id) => id;

test('where nobody can tell who may be seen, every group is pressed, the empty ones too', () => {
  assert.deepEqual(pressedAtFirst(running('class')), [1, 2]);
  assert.deepEqual(pressedAtFirst(running(null)), []);
});

test('a group that is pressed twice is taken out again', () => {
  assert.deepEqual(toggled([3], 1), [1, 3]);
  assert.deepEqual(toggled([1, 3], 1), [3]);
});

test('why every screen is covered is said with what can be done about it', () => {
  const info = (running) => ({ class: running });
  assert.equal(notKnownSaid(info(running('empty')), true, words), 'live-not-known-empty live-not-known-say');
  assert.equal(notKnownSaid(info(running('groups')), false, words), 'live-not-known-groups live-not-known-ask');
  assert.equal(notKnownSaid(info(running(null)), true, words), '');
  assert.equal(notKnownSaid(info(null), true, words), '');
});
