// What covers the glass, and when: web/live/cover.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { cover } from '../../web/live/cover.js';

const S = 1e6;
const MS = 1000;
const NOW = 1795500000 * S;

function facts(change = {}, state = {}) {
  const delay_ms = state.delay_ms || 5000;
  return Object.assign({
    dueUs: NOW - delay_ms * MS, turning: false,
    nowUs: NOW, heardAgoUs: 10 * MS, vouchedAgoUs: 60 * MS, openedAgoUs: 60 * S,
    state: Object.assign({
      applies: { clock: 'live' }, number: 1, title: 'Beam', delay_ms: 5000, window_ms: 30000, camera: 'showing',
      camera_since_us: NOW - 60 * S, oldest_us: NOW - 30 * S, newest_us: NOW - 50 * MS, demo: false, calibrating: false, attempt_s: 8, again: null,
    }, state),
    glass: { captureUs: NOW - 5 * S - 10 * MS, durationUs: 33333 }, newer: true, hold: null, stay: null, veiled: null, tap: false, covered: false,
  }, change);
}

const glassLate = (ms) => ({ captureUs: NOW - 5 * S - ms * MS, durationUs: 33333 });
const card = (f) => (cover(f).card === null ? null : cover(f).card.kind);

test('a due picture is seen, and nothing stands over it', () => {
  assert.deepEqual(cover(facts()), { card: null, notice: null });
});

test('a camera that is away is said at once, over the late pictures that are still due', () => {
  assert.deepEqual(cover(facts({}, { camera: 'stalled' })), { card: null, notice: 'stalled' });
});

test('once nothing newer is due the card covers within a quarter of a second', () => {
  const dead = { camera: 'stalled', newest_us: NOW - 5 * S - 300 * MS };
  assert.equal(card(facts({ glass: glassLate(270), newer: false }, dead)), null);
  assert.deepEqual(cover(facts({ glass: glassLate(300), newer: false }, dead)).card, { kind: 'camera', camera: 'stalled' });
});

test('a frozen picture never stays, newer ones or not', () => {
  assert.equal(card(facts({ glass: glassLate(400) })), null);
  assert.equal(card(facts({ glass: glassLate(560) })), 'moment');
  assert.equal(card(facts({ glass: glassLate(300), newer: false })), 'moment');
});

test('a picture that is not due yet does not stay either', () => {
  assert.equal(card(facts({ glass: glassLate(-3000) })), 'moment');
});

test('a cover goes only for a picture that is due', () => {
  assert.equal(card(facts({ covered: true })), null);
  assert.equal(card(facts({ covered: true, glass: glassLate(300) })), 'moment');
  assert.equal(card(facts({ covered: true, glass: glassLate(-110) })), 'moment');
});

test('while the delay fills, seconds are counted down', () => {
  const filling = (ago) => cover(facts({ glass: null }, { delay_ms: 10000, oldest_us: NOW - ago })).card;
  assert.deepEqual(filling(3 * S), { kind: 'filling', seconds: 7 });
  assert.deepEqual(filling(9.999 * S), { kind: 'filling', seconds: 1 });
  assert.equal(filling(11 * S).kind, 'moment');
});

test('after a while away the count is to the first new picture', () => {
  const f = facts({ glass: null }, { delay_ms: 10000, camera_since_us: NOW - 2 * S });
  assert.deepEqual(cover(f).card, { kind: 'filling', seconds: 8 });
});

test('a camera that never sent a picture has its own card', () => {
  for (const camera of ['starting', 'unreachable', 'refused', 'not_a_camera', 'unsuitable', 'ended', 'missing_part']) {
    const f = facts({ glass: null, newer: false }, { camera, oldest_us: null, newest_us: null });
    assert.deepEqual(cover(f), { card: { kind: 'camera', camera }, notice: null });
  }
});

test('a screen that hears nothing covers itself, whatever it could show', () => {
  assert.equal(card(facts({ vouchedAgoUs: 390 * MS })), null);
  assert.equal(card(facts({ vouchedAgoUs: 410 * MS })), 'moment');
  assert.equal(card(facts({ vouchedAgoUs: 1.6 * S })), 'link');
  const unknown = { vouchedAgoUs: null, heardAgoUs: null, state: null, nowUs: null, glass: null };
  assert.equal(card(facts({ ...unknown, openedAgoUs: 1 * S })), 'opening');
  assert.equal(card(facts({ ...unknown, openedAgoUs: 2 * S })), 'link');
});

test('what arrives now and was said long ago does not uncover', () => {
  assert.equal(card(facts({ heardAgoUs: 0, vouchedAgoUs: 2 * S })), 'link');
  assert.equal(card(facts({ heardAgoUs: 0, vouchedAgoUs: 0.6 * S })), 'moment');
});

test('after a new greeting pictures wait for the first word that all holds', () => {
  assert.equal(card(facts({ vouchedAgoUs: null })), 'moment');
});

test('a word from another clock vouches for nothing', () => {
  assert.equal(card(facts({ vouchedAgoUs: -12 * S })), 'moment');
  assert.equal(card(facts({ vouchedAgoUs: -50 * MS })), null, 'a clock may be a little off');
});

test('what must not be seen is not, even if due', () => {
  assert.equal(card(facts({ veiled: 'dont_show' })), 'covered');
  assert.equal(card(facts({ veiled: 'paused' })), 'paused');
});

test('a press that is needed is asked for', () => {
  assert.equal(card(facts({ tap: true })), 'tap');
});

test('a class that waits covers every glass, whatever else there is', () => {
  for (const hold of ['freeze', 'accident', 'leave', 'dark']) {
    assert.equal(card(facts({ hold })), hold);
    assert.equal(card(facts({ hold, tap: true })), hold);
    assert.equal(card(facts({ hold, vouchedAgoUs: 9 * S })), hold, 'the box has gone, the word stands');
  }
});

test('pictures of another stay than this one are not seen', () => {
  const shown = NOW - 5 * S - 10 * MS;
  const during = (from_us, to_us, change = {}) => card(facts({ stay: { from_us, to_us }, ...change }));
  assert.equal(during(shown - 20 * S, null), null);
  assert.equal(during(shown, null), null, 'from its first picture on');
  assert.equal(during(shown + 1, null), 'between', 'the group before');
  assert.equal(during(shown - 20 * S, shown + 1), null, 'the last attempts, while they come');
  assert.equal(during(shown - 20 * S, shown), 'between', 'after them');
  assert.equal(during(NOW - 1 * S, null, { glass: null }), 'between');
  assert.equal(during(NOW - 9 * S, null, { glass: null }), 'moment');
  assert.equal(during(shown + 1, null, { hold: 'freeze' }), 'freeze');
});

test('without a class the camera is said to be off', () => {
  const f = facts({ veiled: 'wiped' }, { camera: 'off', oldest_us: null, newest_us: null });
  assert.deepEqual(cover(f).card, { kind: 'camera', camera: 'off' });
});

test('while its camera is calibrated a screen shows the bars, whatever picture there would be', () => {
  const calibrating = { calibrating: true };
  assert.deepEqual(cover(facts({}, calibrating)), { card: { kind: 'bars' }, notice: null });
  assert.equal(card(facts({ glass: null, tap: true }, calibrating)), 'bars');
  assert.equal(card(facts({}, { calibrating: true, camera: 'stalled' })), 'bars');
});

test('what hides a picture hides the bars', () => {
  const calibrating = { calibrating: true };
  assert.equal(card(facts({ veiled: 'paused' }, calibrating)), 'paused');
  assert.equal(card(facts({ veiled: 'covered' }, calibrating)), 'covered');
  assert.equal(card(facts({ vouchedAgoUs: 600 * MS }, calibrating)), 'moment');
  assert.equal(card(facts({ vouchedAgoUs: 1600 * MS }, calibrating)), 'link');
  assert.equal(card(facts({ nowUs: null }, calibrating)), 'opening');
});

test('what is shown once more is due as the server says, and the turn to it and back is not covered', () => {
  const replayed = { glass: glassLate(7000), dueUs: NOW - 12 * S };
  assert.equal(card(facts(replayed)), null);
  assert.equal(card(facts({ ...replayed, dueUs: NOW - 5 * S })), 'moment');
  assert.equal(card(facts({ ...replayed, dueUs: NOW - 5 * S, turning: true })), null);
  // What hides a picture hides it then too.
  assert.equal(card(facts({ ...replayed, turning: true, veiled: 'wiped' })), 'covered');
  assert.equal(card(facts({ ...replayed, turning: true, vouchedAgoUs: 410 * MS })), 'moment');
  assert.equal(card(facts({ glass: glassLate(7000), turning: true, covered: true })), 'moment', 'and no card goes for it');
});
