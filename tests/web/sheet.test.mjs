// The sheet beside the late picture: which parts it has, what makes way first, how much of a turn is left.
import test from 'node:test';
import assert from 'node:assert/strict';
import { inTurns, leftInWords, leftOf, mostFirst, partsOf, slice } from '../../web/live/sheet.js';

const shown = (text, figure = null, picture = null) => ({ text, figure, picture });
const texts = (all) => all.map((one) => one.text);
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
    board: false, reminders: ['One at a time', 'Wait at the cone'], other_ways: [shown('On the line')], ...task,
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
  assert.deepEqual([parts.cue, parts.drawn.figure], ['Eyes ahead', 'walk']);
  assert.deepEqual(texts(parts.choices), ['Forwards', 'Backwards', 'On the line'], 'another way is a choice like any other');
  assert.equal(parts.ways, 1);
  assert.deepEqual(partsOf(sheet({}, { levels: [shown('Forwards')], other_ways: [] })).choices, []);
  const bare = partsOf(sheet({}, { cue: null }));
  assert.deepEqual([bare.cue, bare.drawn, bare.view], ['', null, 'text']);
});

test('task and choices stay before reminders, and the cue is not among what may go', () => {
  const ways = [shown('On the line'), shown('Seated'), shown('With a hand')];
  const most = mostFirst(partsOf(sheet({}, { other_ways: ways })), false);
  // Two levels and three ways: the first of each together, then in turns.
  assert.deepEqual(most, ['task', 'choices', 'choice-2', 'choice-4', 'choice-5', 'reminder-1', 'left', 'reminder-2', 'late']);
  const inClass = mostFirst(partsOf(sheet()), true);
  assert.deepEqual(inClass.slice(0, 3), ['task', 'class', 'choices']);
  // Where there is no cue, the task is what has to be seen.
  assert.ok(!mostFirst(partsOf(sheet({}, { cue: null })), false).includes('task'));
});

test('on a board all choices stay, with another way among them, and their words may go', () => {
  const parts = partsOf(sheet({}, { board: true, cue: null }));
  assert.equal(parts.board, true);
  assert.deepEqual(texts(parts.choices), ['Forwards', 'Backwards', 'On the line']);
  const most = mostFirst(parts, false);
  assert.deepEqual(most, ['titles', 'reminder-1', 'left', 'reminder-2', 'late']);
  // One is no choice, so there is no board either.
  assert.equal(partsOf(sheet({}, { board: true, cue: null, other_ways: [], levels: [shown('Forwards')] })).board, false);
});

test('levels and other ways get room in turns', () => {
  assert.deepEqual(inTurns(5, 2), [1, 4, 2, 5, 3]);
  assert.deepEqual(inTurns(3, 3), [1, 2, 3]);
  assert.deepEqual(inTurns(2, 0), [1, 2]);
  for (let ways = 1; ways < 5; ways += 1) {
    assert.ok(inTurns(5, ways).slice(0, 2).some((place) => place > 5 - ways), 'one of the first two is another way');
  }
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
