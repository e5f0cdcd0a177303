// The server's clock as the page knows it: web/live/clock.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { ServerClock, offsetAndDelay } from '../../web/live/clock.js';

const MS = 1000;

/** One exchange at page time `at`, with true offset `offset` and the given one-way times. */
function exchange(at, offset, there, back) {
  return { t1: at, t2: at + there + offset, t3: at + there + offset, t4: at + there + back };
}

test('offset and delay follow RFC 5905 section 8', () => {
  // RFC 5905 §8: theta = 1/2 [(T2-T1) + (T3-T4)], delta = (T4-T1) - (T3-T2).
  assert.deepEqual(offsetAndDelay({ t1: 0, t2: 105, t3: 110, t4: 15 }), { offset: 100, delay: 10 });
});

test('the least delayed of the last few is believed', () => {
  const clock = new ServerClock();
  clock.add(exchange(0, 5e9, 9 * MS, 1 * MS));
  clock.add(exchange(40 * MS, 5e9, 300, 300));
  clock.add(exchange(80 * MS, 5e9, 20 * MS, 2 * MS));
  assert.ok(Math.abs(clock.believedUs - 5e9) < 1);
});

test('a new exchange that contradicts the belief replaces everything at once', () => {
  const clock = new ServerClock();
  for (let i = 0; i < 8; i += 1) clock.add(exchange(i * 1000 * MS, 0, 500, 500));
  clock.add(exchange(9000 * MS, 60e6, 4 * MS, 4 * MS));
  assert.equal(clock.replaced, 1);
  assert.ok(Math.abs(clock.serverUs(9010 * MS) - (9010 * MS + 60e6)) < 10);
});

test('a late answer alone contradicts nothing', () => {
  const clock = new ServerClock();
  for (let i = 0; i < 8; i += 1) clock.add(exchange(i * 1000 * MS, 0, 500, 500));
  clock.add(exchange(9000 * MS, 0, 400 * MS, 1 * MS));
  assert.equal(clock.replaced, 0);
  assert.ok(Math.abs(clock.offsetUs(9500 * MS)) < 2 * MS);
});

test('what is said follows drift smoothly and stays near the truth', () => {
  const clock = new ServerClock();
  let last = null;
  const truth = (t) => 7e12 + t * 100e-6;
  for (let t = 0; t < 120e6; t += 20 * MS) {
    if (t % 1e6 === 0) clock.add(exchange(t, truth(t), 400 + (t / 1e6 % 3) * 300, 400 + (t / 1e6 % 5) * 900));
    const said = clock.offsetUs(t);
    if (last !== null && t > 2e6) {
      assert.ok(Math.abs(said - last) <= 20 * MS * 2e-3 + 1, 'no jumps');
      assert.ok(Math.abs(said - truth(t)) < 3 * MS, 'near the truth');
    }
    last = said;
  }
});

test('nonsense is left out', () => {
  const clock = new ServerClock();
  clock.add({ t1: NaN, t2: 0, t3: 0, t4: 0 });
  clock.add({ t1: 0, t2: 0, t3: 100 * MS, t4: 1 * MS });
  assert.equal(clock.known, false);
  assert.equal(clock.uncertaintyUs(0), Infinity);
});
