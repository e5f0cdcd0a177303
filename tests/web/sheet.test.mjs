// The sheet beside the late picture: which parts it has, what makes way first, how much of a turn is left.
import test from 'node:test';
import assert from 'node:assert/strict';
import { leftInWords, leftOf, mostFirst, partsOf, slice } from '../../web/live/sheet.js';

const shown = (text, figure = null) => ({ text, figure });
const sheet = (more = {}, task = {}) => ({
  type: 'sheet',
  applies: { clock: 'live' },
  mark: { number: 1, shape: 'disc', colour: 'orange' },
  language: 'en',
  view: 'text',
  look: 'dark',
  letters: { least: 0.07, preferred: 0.07 },
  turn: null,
  task: {
    task: 'Walk the beam', cue: shown('Eyes ahead', 'walk'), levels: [shown('Forwards'), shown('Backwards')],
    reminders: ['One at a time', 'Wait at the cone'], other_ways: [shown('On the line')], ...task,
  },
  ...more,
});

test('without a sheet, a unit or a class there is the picture and the mark', () => {
  assert.equal(partsOf(null).view, 'bare');
  const parts = partsOf(sheet({ task: null, look: 'bright' }));
  assert.equal(parts.view, 'bare');
  assert.equal(parts.look, 'bright');
});

test('a sheet has one cue with its figure, and a choice only where there are two', () => {
  const parts = partsOf(sheet());
  assert.deepEqual([parts.cue, parts.figure], ['Eyes ahead', 'walk']);
  assert.deepEqual(parts.levels, ['Forwards', 'Backwards']);
  assert.deepEqual(partsOf(sheet({}, { levels: [shown('Forwards')] })).levels, []);
  const bare = partsOf(sheet({}, { cue: null }));
  assert.deepEqual([bare.cue, bare.figure, bare.view], ['', null, 'text']);
});

test('task and levels stay before reminders, and the cue is not among what may go', () => {
  const most = mostFirst(partsOf(sheet({}, { other_ways: [shown('On the line'), shown('Seated')] })), false);
  assert.deepEqual(most, ['task', 'levels', 'reminder-1', 'way-1', 'left', 'reminder-2', 'way-2', 'late']);
  const inClass = mostFirst(partsOf(sheet()), true);
  assert.deepEqual(inClass.slice(0, 3), ['task', 'class', 'levels']);
  // Where there is no cue, the task is what has to be seen.
  assert.ok(!mostFirst(partsOf(sheet({}, { cue: null })), false).includes('task'));
});

const turn = { began_us: 1000e6, ends_us: 1240e6 };

test('what is left of a turn goes from all to nothing and not beyond', () => {
  assert.equal(leftOf(turn, 1000e6), 1);
  assert.equal(leftOf(turn, 1060e6), 0.75);
  assert.equal(leftOf(turn, 900e6), 1);
  assert.equal(leftOf(turn, 1300e6), 0);
  assert.equal(leftOf(null, 1000e6), null);
  assert.equal(leftOf(turn, null), null);
  assert.equal(leftOf({ began_us: 5, ends_us: 5 }, 5), null);
});

test('the time in words changes seldom', () => {
  assert.deepEqual(leftInWords(turn, 1000e6), { minutes: 4 });
  assert.deepEqual(leftInWords(turn, 1179e6), { minutes: 2 });
  assert.deepEqual(leftInWords(turn, 1180e6), { seconds: 60 });
  assert.deepEqual(leftInWords(turn, 1231e6), { seconds: 10 });
  assert.deepEqual(leftInWords(turn, 1300e6), { seconds: 0 });
  const said = new Set();
  for (let s = 1000; s <= 1240; s += 1) said.add(JSON.stringify(leftInWords(turn, s * 1e6)));
  assert.ok(said.size <= 11, `${said.size} different ones in four minutes`);
});

test('the disc is a whole one, then the part behind the hand is gone', () => {
  assert.match(slice(1), /^M50 4A/);
  assert.equal(slice(0), '');
  // A quarter gone: the hand points to three o'clock, and more than half is left.
  assert.equal(slice(0.75), 'M50 50L96.00 50.00A46 46 0 1 1 50 4Z');
  assert.equal(slice(0.25), 'M50 50L4.00 50.00A46 46 0 0 1 50 4Z');
});
