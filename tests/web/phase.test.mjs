// What the TVs say in each phase, and that nobody is sent the wrong way:
// web/live/phase.js, web/live/hall-board.js, web/live/card.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { cardFigure, isSilent } from '../../web/live/card.js';
import { headingOf, sceneOf, shareLeft } from '../../web/live/phase.js';
import { boardOf, headOf, oneOn } from '../../web/live/hall-board.js';

const CANDLE = { text: 'Long and still', figure: 'candle', picture: null };
const mark = (number) => ({ number, shape: 'disc', colour: 'orange', outline: '' });
const marks = [1, 2, 3, 4].map(mark);
const sheet = (task = { task: '', cue: null, levels: [], reminders: [], other_ways: [], board: false, reset: 'Mat back.' }) => ({
  applies: { clock: 'live' }, mark: marks[0], language: 'en', view: 'text', look: 'dark', letters: { least: 0.07, preferred: 0.08 },
  task, turn: null, stations: marks, groups: marks,
});
const time = (phase, change = {}) => ({ phase, turn: 1, turns: 4, ends_us: 1, left_ms: 1, whole_ms: 4, hold: null, ...change });
const group = (number, next = null, works = true) => ({ group: number, works, three: false, next });
const screen = (phase, groups = [group(3, 2)], more = {}, change = {}) => ({
  applies: { clock: 'live' }, time: time(phase, change), closed: false, floor: false, groups, coming: [4], stay: null, ...more,
});
const words = (id, values = {}) => [id, ...Object.values(values)].join(' ');
const numbers = (list) => list.map((m) => m.number);

test('the picture and its sheet stay large for as long as there is work', () => {
  for (const phase of ['warm_up', 'work', 'last_turn', 'done']) {
    assert.equal(sceneOf(screen(phase), sheet()).mode, 'turn', phase);
  }
  assert.equal(sceneOf(null, sheet()).mode, 'turn');
  assert.equal(sceneOf(screen('walk'), null).mode, 'turn', 'before the marks are known');
});

test('what the ear gets the eye gets: a sign for the last turn, and for a pause', () => {
  assert.equal(sceneOf(screen('work'), sheet()).sign, null);
  assert.equal(sceneOf(screen('last_turn'), sheet()).sign, 'last-turn');
  assert.equal(sceneOf(screen('last_turn', [], {}, { hold: 'pause' }), sheet()).sign, 'pause');
  assert.equal(sceneOf(screen('gather', [], {}, { hold: 'pause' }), sheet()).sign, 'pause');
});

test('gathering shows what to put right, where anybody works', () => {
  const scene = sceneOf(screen('gather'), sheet());
  assert.deepEqual([scene.mode, scene.reset, headingOf(scene, words)], ['gather', 'Mat back.', 'live-phase-gather']);
  assert.equal(sceneOf(screen('gather'), sheet(null)).reset, '');
  assert.equal(sceneOf(screen('gather', [group(3, 2, false)], { closed: true }), sheet()).reset, '', 'who rested put nothing out of place');
});

test('a way is said to its own groups, by their marks, and to nobody else', () => {
  const one = sceneOf(screen('walk', [group(3, 2)]), sheet());
  assert.equal(headingOf(one, words), 'live-row-walk 3 2');
  assert.deepEqual(one.rows.map((r) => [numbers(r.groups), r.from.number, r.to.number]), [[[3], 1, 2]]);
  // Two that share a station and part: a line for each way.
  const parted = sceneOf(screen('walk', [group(1, 2), group(2, 4), group(3, 2)]), sheet());
  assert.deepEqual(parted.rows.map((r) => [numbers(r.groups), r.to.number]), [[[1, 3], 2], [[2], 4]]);
  const rests = sceneOf(screen('walk', [group(2, null)]), sheet());
  assert.equal(rests.rows[0].to, null);
  assert.equal(headingOf(rests, words), 'live-row-rest 2');
  const empty = sceneOf(screen('walk', []), sheet());
  assert.deepEqual([empty.rows, headingOf(empty, words), numbers(empty.coming)], [[], '', [4]], 'nobody here is sent anywhere');
});

test('a closed station says so; a group that has its place there rests and is sent on', () => {
  assert.equal(sceneOf(screen('work', [], { closed: true }), sheet()).mode, 'closed');
  assert.equal(sceneOf(screen('work', [group(3, 2, false)], { closed: true }), sheet()).mode, 'rest');
  assert.equal(sceneOf(screen('walk', [group(3, 2, false)], { closed: true }), sheet()).rows.length, 1);
  assert.equal(sceneOf(screen('walk', [], { closed: true, coming: [] }), sheet()).mode, 'closed');
  assert.equal(sceneOf(screen('briefing', [], { closed: true }), sheet()).mode, 'closed');
});

test('the figure stands where a picture may not, and a wait has one for everybody', () => {
  assert.equal(cardFigure('covered', CANDLE), CANDLE);
  assert.equal(cardFigure('between', CANDLE), CANDLE);
  assert.equal(cardFigure('covered', null), null);
  assert.equal(cardFigure('covered', { ...CANDLE, figure: null }), null, 'a cue without a drawing');
  assert.deepEqual([isSilent('covered', CANDLE), isSilent('covered', null), isSilent('dark', null), isSilent('freeze', CANDLE)],
    [true, false, true, false], 'without a reason');
  assert.deepEqual(['freeze', 'accident', 'leave', 'dark', 'moment'].map((kind) => cardFigure(kind, CANDLE)).map((one) => one && one.figure),
    ['stand', 'sit', 'line-up', null, null]);
});

test('the share of a phase that is left', () => {
  assert.equal(shareLeft(time('walk', { whole_ms: 20000 }), 5000), 0.25);
  assert.equal(shareLeft(time('walk', { whole_ms: 0 }), 0), null);
  assert.equal(shareLeft(null, 0), null);
});

const hallGroup = (number, station, next) => ({ mark: mark(number), station, works: true, next });
const hall = (phase, groups, closed = [], change = {}) => ({
  applies: { clock: 'live' }, time: time(phase, change), stations: marks.map((m) => ({ mark: m, closed: closed.includes(m.number) })),
  groups, view: 'text', look: 'dark',
});

test('everyone one on is said where it is so: closed stations are left out, the last goes to the first', () => {
  const all = [hallGroup(1, 1, 2), hallGroup(2, 2, 3), hallGroup(3, 3, 4), hallGroup(4, 4, 1)];
  assert.equal(oneOn(hall('walk', all)), true);
  assert.equal(headOf(boardOf(hall('walk', all))), 'live-hall-one-on');
  const without3 = [hallGroup(1, 1, 2), hallGroup(2, 2, 4), hallGroup(4, 4, 1)];
  assert.equal(oneOn(hall('walk', without3, [3])), true);
  assert.equal(oneOn(hall('walk', without3)), false, 'past an open station');
  const oneRests = [hallGroup(1, 1, 2), hallGroup(2, 2, null)];
  assert.equal(headOf(boardOf(hall('walk', oneRests))), 'live-phase-walk');
  assert.equal(oneOn(hall('walk', [])), false);
});

test('every way on the board is one its groups go, in walking order', () => {
  const ways = (b) => b.ways.map((w) => [numbers(w.groups), w.from && w.from.number, w.to && w.to.number]);
  const groups = [hallGroup(1, 4, 1), hallGroup(2, 1, 2), hallGroup(3, null, 3), hallGroup(4, 2, null), hallGroup(5, 1, 2)];
  assert.deepEqual(ways(boardOf(hall('walk', groups))), [[[2, 5], 1, 2], [[4], 2, null], [[1], 4, 1], [[3], null, 3]]);
  assert.deepEqual(ways(boardOf(hall('warm_up', groups))), [[[2, 5], null, 1], [[4], null, 2], [[1], null, 4], [[3], null, null]]);
  assert.deepEqual(boardOf(hall('closing', groups)).ways, []);
});

test('a wait is what the board says, and dark says nothing', () => {
  assert.equal(headOf(boardOf(hall('work', [], [], { hold: 'freeze' }))), 'live-card-freeze');
  assert.equal(headOf(boardOf(hall('work', [], [], { hold: 'dark' }))), '');
  assert.equal(headOf(boardOf(hall('work', [], [], { hold: 'pause' }))), 'live-phase-work');
  assert.equal(headOf(boardOf(null)), 'live-hall-none');
});
