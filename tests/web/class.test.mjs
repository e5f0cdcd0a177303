// What a page says of the class: web/live/class.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { allGroups, labelOf, pressOf, readGroups } from '../../web/live/lesson.js';
import { hidingHold, leftMs, minutes, nextLine, timeLine } from '../../web/live/class.js';

const NOW = 1795500000e6;
const time = (change = {}) => Object.assign({
  phase: 'work', turn: 1, turns: 8, ends_us: NOW + 65e6, left_ms: 90000, whole_ms: 240000, hold: null,
}, change);
const screen = (change = {}, groups = [{ group: 3, works: true, three: false, next: 4 }]) => ({
  applies: { clock: 'live' }, time: time(change), closed: false, floor: false, groups, coming: [],
});
const words = (id, values = {}) => [id, ...Object.values(values)].join(' ');

test('the page counts down by itself, on the server\'s clock', () => {
  assert.equal(leftMs(time(), NOW), 65000);
  assert.equal(leftMs(time(), NOW + 70e6), 0, 'not below nothing');
  assert.equal(leftMs(time(), null), 90000, 'as it was told, before it knows the clock');
  assert.equal(leftMs(time({ ends_us: null }), NOW), 90000);
});

test('minutes and seconds', () => {
  assert.deepEqual([240000, 65000, 59001, 1, 0].map(minutes), ['4:00', '1:05', '1:00', '0:01', '0:00']);
});

test('the class in a line', () => {
  assert.equal(timeLine(time(), NOW, words), 'live-class-time live-phase-work 1:05');
  assert.equal(timeLine(time({ hold: 'pause', ends_us: null }), NOW, words), 'live-class-held live-phase-work 1:30');
  assert.equal(timeLine(null, NOW, words), '');
});

test('where to go is said when it is time to go', () => {
  assert.equal(nextLine(screen(), words), '');
  assert.equal(nextLine(screen({ phase: 'gather' }), words), 'live-class-next 4');
  assert.equal(nextLine(screen({ phase: 'walk' }, [{ group: 3, works: true, three: false, next: null }]), words), 'live-class-rest');
  assert.equal(nextLine(screen({ phase: 'walk' }, []), words), '');
});

test('a pause leaves the pictures, every other wait does not', () => {
  assert.deepEqual(['pause', 'dark', 'freeze', 'leave', 'accident'].map((hold) => hidingHold(screen({ hold }))),
    [null, 'dark', 'freeze', 'leave', 'accident']);
  assert.equal(hidingHold(null), null);
});

test('a button presses, and takes back what it pressed', () => {
  assert.deepEqual(pressOf('next', []), { press: 'next' });
  assert.deepEqual(pressOf('freeze', ['pause']), { press: 'hold', hold: 'freeze' });
  assert.deepEqual(pressOf('freeze', ['pause', 'freeze']), { press: 'resume', hold: 'freeze' });
  assert.equal(labelOf('accident', ['accident']), 'live-resume-accident');
  assert.equal(labelOf('end', ['pause']), 'live-press-end');
});

test('groups are typed as numbers', () => {
  assert.deepEqual(['', ' 2, 5', '3;4 1'].map(readGroups), [[], [2, 5], [3, 4, 1]]);
  assert.deepEqual(readGroups(allGroups(4)), [1, 2, 3, 4], 'all, until somebody says otherwise');
  assert.deepEqual(['0', '33', 'red', '1.5', '-2'].map(readGroups), [null, null, null, null, null]);
});
