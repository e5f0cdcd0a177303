// What a page says of the class: web/live/class.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { groupsAt, hereLine, offers } from '../../web/live/station-card.js';
import { glance, labelOf, noted, pressOf } from '../../web/live/lesson.js';
import { hidingHold, leftMs, minutes, nextLine, stayOf, timeLine } from '../../web/live/class.js';

const NOW = 1795500000e6;
const time = (change = {}) => Object.assign({
  phase: 'work', turn: 1, turns: 8, ends_us: NOW + 65e6, left_ms: 90000, whole_ms: 240000, hold: null,
}, change);
const screen = (change = {}, groups = [{ group: 3, works: true, three: false, next: 4 }]) => ({
  applies: { clock: 'live' }, time: time(change), closed: false, floor: false, groups, coming: [], stay: { from_us: NOW - 60e6, to_us: NOW },
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

test('when a walk is over the pictures of those who left are over too', () => {
  const walk = (change) => stayOf(screen({ phase: 'walk', ends_us: NOW + 5e6, ...change }), NOW + 5e6);
  assert.deepEqual(walk({ ends_us: NOW + 6e6 }), { from_us: NOW - 60e6, to_us: NOW });
  assert.deepEqual(walk({}), { from_us: NOW + 5e6, to_us: null });
  assert.deepEqual(walk({ ends_us: null, hold: 'pause' }), { from_us: NOW - 60e6, to_us: NOW }, 'it waits');
  assert.equal(stayOf(null, NOW), null);
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

const running = (more = {}) => ({
  title: '3B', step: 1, time: time(), holds: [], accidents: [], demo: false,
  groups: [
    { group: 1, children: 3, station: 2, works: true, next: 3, covered: false },
    { group: 2, children: 0, station: 3, works: false, next: 4, covered: false },
  ],
  stations: [
    { number: 1, setup: 'mats', closed: true, in_circuit: true, floor: false },
    { number: 2, setup: 'beam', closed: false, in_circuit: true, floor: true },
    { number: 3, setup: 'box', closed: false, in_circuit: true, floor: false },
    { number: 4, setup: 'rope', closed: true, in_circuit: false, floor: false },
  ],
  ...more,
});
const info = (more = {}) => ({ now_us: NOW, class: running(more), asks: null, demo: false });

test('class, phase and time at a glance, counted down from when the box said it', () => {
  assert.deepEqual(glance(info(), 5000, words), { title: '3B', phase: 'live-phase-work', left: '1:00', turn: 'live-class-turn 1 8' });
  const held = info({ time: time({ hold: 'freeze', ends_us: null }) });
  assert.deepEqual([glance(held, 5000, words).phase, glance(held, 5000, words).left], ['live-held-freeze', '1:30'], 'the time stands still');
  const none = { now_us: NOW, class: null, asks: null, demo: false };
  assert.deepEqual(glance(none, 0, words).phase, 'live-class-none');
  assert.equal(glance({ ...none, demo: true }, 0, words).phase, 'live-class-demo');
});

test('a card says who is there', () => {
  assert.equal(hereLine(info(), 1, words), 'live-station-closed');
  assert.equal(hereLine(info(), 2, words), 'live-station-group 1 3 · live-station-floor');
  assert.equal(hereLine(info(), 3, words), 'live-station-empty', 'an empty group is nobody');
  assert.equal(hereLine({ ...info(), class: null }, 2, words), '');
  assert.deepEqual(groupsAt(info(), 2).map((g) => g.group), [1]);
});

test('a card offers what can be pressed there, and by whom', () => {
  const presses = (station, leads = true, more = {}) => offers(info(more), station, leads).map((one) => one.press);
  assert.deepEqual(presses(2), [{ press: 'cover_group', group: 1 }, { press: 'close', station: 2 }]);
  assert.deepEqual(presses(2, false), [{ press: 'cover_group', group: 1 }]);
  assert.deepEqual(presses(1), [{ press: 'open', station: 1 }]);
  assert.deepEqual(presses(4), [], 'it has no place in this circuit');
  const covered = running().groups.map((g) => ({ ...g, covered: true }));
  assert.deepEqual(presses(2, false, { groups: covered }), [], 'covered until it has left');
});

test('what is noted of an accident: time, station, set-up', () => {
  const accident = { wall_ms: Date.UTC(2026, 10, 25, 10, 42), station: 2, setup: 'beam' };
  assert.match(noted(accident, 'en', words), /^live-accident-noted-at .*42.* 2 beam$/);
  assert.match(noted({ ...accident, station: null }, 'es', words), /^live-accident-noted .*42/);
});
