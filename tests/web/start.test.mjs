// What start works out for itself: web/live/start.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { circuitS, draftOf, gradeIn, lessonS, openStations, sizesSaid, spread, startOf, stationsFor, turnsOf, within, withChange } from '../../web/live/start.js';

const USUAL = { warm_up_s: 240, briefing_s: 120, work_s: 240, last_turn_s: 20, gather_s: 10, walk_s: 20, closing_s: 120 };
const station = (number, change = null, hands = 'none') => ({ number, in_pairs: false, hands, change });
const change = (easier) => ({ gone: [], come: [], easier_as_it_stands: easier });
const known = (more = {}) => ({
  title: '3B', grade: 3, children: 22, groups: 8, not_shown: [2], goes_on_with: null, turns: null, times: USUAL, ...more,
});
const info = (classes = [], stations = [station(1)]) => ({ classes, accidents: [], times: USUAL, grades: [{ grade: null, stations }, { grade: 3, stations }] });

test('eight stations of four minutes and half a minute to change are 35 min 30 s', () => {
  assert.equal(circuitS(USUAL, 8), 35 * 60 + 30);
  assert.equal(lessonS(USUAL, 8, false), 35 * 60 + 30 + 8 * 60);
  assert.equal(lessonS(USUAL, 8, true) - lessonS(USUAL, 8, false), 60, 'a minute to explain the cameras');
  assert.deepEqual([circuitS(USUAL, 1), circuitS(USUAL, 0)], [240, 0]);
});

test('a change is gathering and walking, whatever its length', () => {
  for (const s of [0, 5, 10, 30, 40, 61]) {
    const times = withChange(USUAL, s);
    assert.equal(times.gather_s + times.walk_s, s);
  }
  assert.deepEqual(withChange(USUAL, 30), USUAL);
});

// The server's own spread (src/core/rotation/groups.rs) in its cases.
test('children are spread as the server spreads them', () => {
  assert.deepEqual(spread(24, 8, false), [3, 3, 3, 3, 3, 3, 3, 3]);
  assert.deepEqual(spread(10, 4, false), [3, 3, 2, 2]);
  assert.deepEqual(spread(3, 4, false), [1, 1, 1, 0]);
  assert.deepEqual(spread(7, 4, true), [3, 2, 2, 0], 'nobody alone where they work in pairs');
  assert.deepEqual(spread(1, 2, true), [1, 0]);
  assert.deepEqual(sizesSaid([3, 3, 2, 2]), [[3, 2], [2, 2]]);
});

test('a known class is offered as it was, a new one has to be told', () => {
  const again = draftOf(info([known()]), known(), '');
  assert.deepEqual([again.title, again.grade, again.children, again.groups, again.notShown], ['3B', 3, 22, 8, [2]]);
  const fresh = draftOf(info([known()]), null, '2C');
  assert.deepEqual([fresh.grade, fresh.groups, fresh.notShown, fresh.cameraBriefing], [2, null, null, false]);
  assert.equal(draftOf(info(), null, '').cameraBriefing, true, 'the first class of all');
  assert.equal(draftOf(info(), known({ goes_on_with: 3, turns: 8 }), '').anew, false, 'a circuit goes on by itself');
  assert.equal(draftOf(info(), known({ goes_on_with: 1, turns: 8 }), '').anew, true, 'one of which nothing was done does not');
});

test('a class says its grade where it can', () => {
  assert.deepEqual(['3B', ' k2', 'KA', 'K', 'Kay', 'Rosa', '12', '6A', ''].map(gradeIn), [3, 0, 0, 0, null, null, null, null, null]);
});

test('what is not ticked starts closed, what stands easier may stay, what needs hands closes without', () => {
  const stations = [station(1), station(2, change(false)), station(3, change(true)), station(4, null, 'close'), station(5, null, 'floor')];
  const open = (more) => openStations(stations, { ...draftOf(info(), null, ''), ...more }).map((s) => s.number);
  assert.deepEqual(open({}), [1, 4, 5]);
  assert.deepEqual(open({ ticked: [2, 3] }), [1, 2, 3, 4, 5]);
  assert.deepEqual(open({ asItStands: [2, 3] }), [1, 3, 4, 5], 'only where it is the easier one');
  assert.deepEqual(open({ noSpotter: true }), [1, 5]);
  assert.equal(stationsFor(info([], stations), 3), stations);
  assert.deepEqual(stationsFor(info([], stations), 9), []);
});

test('a circuit that goes on has only what is left of it', () => {
  const draft = draftOf(info(), known({ goes_on_with: 6, turns: 8 }), '');
  assert.equal(turnsOf(known({ goes_on_with: 6, turns: 8 }), draft, 8, 8), 3);
  assert.equal(turnsOf(known({ goes_on_with: 6, turns: 8 }), { ...draft, anew: true }, 8, 8), 8);
  assert.equal(turnsOf(null, { ...draft, anew: true }, 6, 8), 8, 'more groups than stations: some rest');
});

test('what is sent leaves out what nobody said', () => {
  const start = startOf('a', draftOf(info(), null, ' 3B '));
  assert.equal(start.class, '3B');
  assert.deepEqual(['groups', 'not_shown'].map((key) => key in start), [false, false]);
  assert.deepEqual(startOf('a', { ...draftOf(info(), known(), ''), notShown: [] }).not_shown, []);
  assert.deepEqual([within(0, 1, 200), within(7.4, 1, 200), within(999, 1, 200)], [1, 7, 200]);
});
