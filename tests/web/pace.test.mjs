// What is due when, once more and late: web/live/pace.js; and the keys: web/live/again.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { againNeedsWant, captureUs, dueUs, filmDelayUs, filmRanges, filmUs, goneBy, paceOf, samePace, speed, turning } from '../../web/live/pace.js';
import { asksAgain, Presses } from '../../web/live/again.js';
import { askOf, saidOf } from '../../web/live/again-form.js';
import { Regulator } from '../../web/live/regulator.js';

const S = 1e6;
const NOW = 1795500000 * S;
const DELAY = 5 * S;
const again = { kind: 'playing', from_us: NOW - 9 * S, to_us: NOW - 5 * S, starts_us: NOW + 0.4 * S, ends_us: NOW + 8.4 * S };
const at = (s) => paceOf(again, NOW + s * S, DELAY);

test('once more is at half speed between two moments, and late by itself after', () => {
  assert.deepEqual([0, 0.4, 8.3, 8.4].map((s) => at(s).kind), ['again', 'again', 'again', 'late']);
  assert.equal(speed(at(1)), 0.5);
  assert.equal(dueUs(at(0), NOW), again.from_us, 'its first picture until it starts');
  assert.equal(dueUs(at(2.4), NOW + 2.4 * S), again.from_us + 1 * S);
  assert.equal(dueUs(at(9), NOW + 9 * S), NOW + 4 * S);
  assert.equal(dueUs(paceOf(null, NOW, DELAY), NOW), NOW - 5 * S);
  assert.equal(dueUs(paceOf({ kind: 'held', at_us: 7 }, NOW, DELAY), NOW), 7);
});

test('film time and capture time are one another turned round, and a film picture is due at its time', () => {
  for (const pace of [at(1), at(9)]) {
    for (const us of [again.from_us, again.from_us + 123456, again.to_us]) {
      assert.ok(Math.abs(captureUs(pace, filmUs(pace, us)) - us) < 2);
      const due = filmUs(pace, us) + filmDelayUs(pace);
      if (due > again.starts_us) assert.ok(Math.abs(dueUs(pace, due) - us) < 2);
    }
  }
});

test('only what belongs to it is played', () => {
  const ranges = [{ startUs: NOW - 20 * S, endUs: NOW - 8 * S }, { startUs: NOW - 7 * S, endUs: NOW - 4 * S }, { startUs: NOW - 3 * S, endUs: NOW }];
  assert.deepEqual(filmRanges(at(1), ranges), [
    { startUs: again.starts_us, endUs: again.starts_us + 2 * S },
    { startUs: again.starts_us + 4 * S, endUs: again.ends_us },
  ]);
  assert.equal(filmRanges(at(9), ranges), ranges);
});

test('a page seeks anew when the pace is another, not for a new delay', () => {
  assert.equal(samePace(at(1), at(2)), true);
  assert.equal(samePace(at(1), at(9)), false);
  assert.equal(samePace(null, at(9)), false);
  assert.equal(samePace(at(9), paceOf(null, NOW, 2 * DELAY)), true);
  assert.equal(samePace(at(1), paceOf({ ...again, starts_us: again.starts_us + 1 }, NOW, DELAY)), false);
});

test('what ends in its own time is turned away from, what is cut short is not waited for', () => {
  const moments = [0, 0.8, 1, 5, 8.3, 8.4, 9, 9.2].map((s) => turning(again, NOW + s * S));
  assert.deepEqual(moments, [true, true, false, false, false, true, true, false]);
  assert.equal(turning({ kind: 'held', at_us: 1 }, NOW), false);
  assert.equal(goneBy(again, null, NOW + 4 * S), null, 'the server has cut it short');
  assert.equal(goneBy(again, null, NOW + 8.5 * S), again);
  const held = { kind: 'held', at_us: 1 };
  assert.equal(goneBy(again, held, NOW + 8.5 * S), held);
  assert.equal(goneBy(held, null, NOW), null);
});

test('a page that does not hold the pictures asks for them', () => {
  const whole = [{ startUs: again.from_us, endUs: again.to_us - 30000 }];
  assert.equal(againNeedsWant(again, whole), null);
  assert.equal(againNeedsWant(again, [{ startUs: again.from_us + 1, endUs: again.to_us }]), again.from_us);
  assert.equal(againNeedsWant(again, [{ startUs: again.from_us, endUs: NOW - 7 * S }, { startUs: NOW - 6 * S, endUs: NOW }]), again.from_us);
  assert.equal(againNeedsWant(null, []), null);
  assert.equal(againNeedsWant({ kind: 'held', at_us: 5 }, [{ startUs: 1, endUs: 9 }]), null);
  assert.equal(againNeedsWant({ kind: 'held', at_us: 9 }, [{ startUs: 1, endUs: 9 }]), 9);
});

/** A player that does at once what it is told. */
function play(fromS, toS, ranges) {
  const regulator = new Regulator();
  let pace = null;
  let [position, rate, playing] = [NOW - 5 * S, 1, true];
  const seen = [];
  for (let now = NOW + fromS * S; now < NOW + toS * S; now += 10000) {
    const next = paceOf(again, now, DELAY);
    if (!samePace(pace, next)) regulator.reset();
    pace = next;
    if (playing) position += rate * 10000;
    regulator.sample(filmUs(pace, position), now, filmDelayUs(pace));
    const action = regulator.step({ nowUs: now, delayUs: filmDelayUs(pace), ranges: filmRanges(pace, ranges), positionUs: filmUs(pace, position), waiting: false });
    if (action !== null && action.kind === 'seek') {
      [position, rate, playing] = [captureUs(pace, action.toUs), speed(pace), false];
      regulator.seekDone(now + 5000);
    } else if (action !== null && action.kind === 'play') {
      playing = true;
    } else if (action !== null) {
      rate = action.rate * speed(pace);
    }
    seen.push({ now, position, rate, kind: pace.kind, error: position - dueUs(pace, now) });
  }
  return { seen, regulator };
}

test('the regulator keeps half speed as it keeps the late picture, and is back within a second', () => {
  const { seen } = play(-3, 14, [{ startUs: NOW - 30 * S, endUs: NOW + 30 * S }]);
  const during = seen.filter((s) => s.now > again.starts_us + 0.5 * S && s.now < again.ends_us);
  assert.ok(during.length > 700);
  for (const s of during) {
    assert.equal(s.kind, 'again');
    assert.ok(Math.abs(s.error) < 20000, 'off by ' + s.error);
    assert.ok(Math.abs(s.rate - 0.5) < 0.08, 'rate ' + s.rate);
    assert.ok(s.position >= again.from_us - 1 && s.position < again.to_us + 20000);
  }
  const back = seen.filter((s) => s.now > again.ends_us + 1 * S);
  assert.ok(back.length > 400);
  for (const s of back) assert.ok(Math.abs(s.error) < 20000 && Math.abs(s.rate - 1) < 0.16, `${s.error} ${s.rate}`);
});

const key = (name, more = {}) => ({ key: name, repeat: false, ctrlKey: false, altKey: false, metaKey: false, ...more });

test('the back key of a clicker asks, next and the rest do not', () => {
  for (const name of ['PageUp', 'ArrowUp', 'ArrowLeft']) assert.equal(asksAgain(key(name)), true, name);
  for (const name of ['PageDown', 'ArrowDown', 'ArrowRight', 'b', '.', 'F5', 'Escape', 'Enter', ' ', 'Tab']) {
    assert.equal(asksAgain(key(name)), false, name);
  }
  assert.equal(asksAgain(key('PageUp', { repeat: true })), false, 'a key that is held is one press');
  for (const with_ of ['ctrlKey', 'altKey', 'metaKey']) assert.equal(asksAgain(key('ArrowLeft', { [with_]: true })), false);
});

test('mashing is passed on twice a second', () => {
  const presses = new Presses();
  let told = 0;
  for (let ms = 0; ms < 10000; ms += 30) told += presses.press(ms) ? 1 : 0;
  assert.ok(told >= 18 && told <= 20, String(told));
});

test('the remote: one button holds and lets go, and each answer has a sentence', () => {
  assert.equal(askOf('hold', null), 'hold');
  assert.equal(askOf('hold', again), 'hold');
  assert.equal(askOf('hold', { kind: 'held', at_us: 1 }), 'go_on');
  assert.equal(askOf('again', { kind: 'held', at_us: 1 }), 'again');
  assert.equal(saidOf('again', 'done'), 'live-asked-again');
  assert.equal(saidOf('again', 'busy'), 'live-asked-busy');
  assert.equal(saidOf('again', 'nothing'), 'live-asked-nothing');
  assert.equal(saidOf('step_on', 'busy'), 'live-asked-no-step');
});
