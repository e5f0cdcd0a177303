// The regulator in closed loop with a simulated player: web/live/regulator.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { Regulator } from '../../web/live/regulator.js';
import { Rates } from '../../web/live/rates.js';
import { Readings, Slip, slip } from '../../web/live/slip.js';
import { Simulation } from './simulated-player.mjs';

const S = 1e6;
const MS = 1000;

function steady(sim, what) {
  sim.run(3 * S);
  const from = sim.now;
  sim.run(120 * S);
  const m = sim.measure(from);
  assert.ok(m.count > 100 * 20, what + ': pictures went on, ' + m.count);
  assert.ok(Math.abs(m.median) <= 9, what + ': median ' + m.median);
  assert.ok(m.p95 <= 17, what + ': p95 ' + m.p95);
  assert.ok(m.p99 <= 34, what + ': p99 ' + m.p99);
  assert.ok(m.beyond34 <= 6, what + ': beyond 34 ms ' + m.beyond34);
  const seeks = sim.actions.filter((a) => a.action.kind === 'seek' && a.at > from).length;
  assert.equal(seeks, 0, what + ': no seeks once settled');
  assert.equal(sim.regulator.rates.dear, false, what + ': rates are borne');
  const rates = sim.actions.filter((a) => a.action.kind === 'rate' && a.at > from);
  return { m, rates };
}

for (const [what, options] of Object.entries({
  'a perfect device': {},
  'clocks drifting apart by 100 ppm': { drift: 100e-6 },
  'and the other way': { drift: -100e-6 },
  'jitter in the stamps': { jitterUs: 3 * MS },
  'a wandering idea of the time': { clockNoiseUs: 2 * MS },
  'a camera of 29.97 pictures a second': { fps: 29.97 },
  'a camera of 25': { fps: 25 },
  'a slow device': { seekUs: [250 * MS, 450 * MS], startUs: [60 * MS, 80 * MS], rateLagUs: 60 * MS },
  'no word of single pictures (tier B)': { tier: 'b', drift: 100e-6 },
})) {
  test('keeps the delay with ' + what, () => {
    const { rates } = steady(new Simulation(options), what);
    assert.ok(rates.length <= 60, what + ': rate changes in two minutes ' + rates.length);
    for (const r of rates) assert.ok(Math.abs(r.action.rate - 1) <= 0.05 + 1e-9, 'gentle: ' + r.action.rate);
  });
}

test('a new delay is reached within a second, longer or shorter', () => {
  for (const seed of [1, 2, 3, 4, 5]) {
    const sim = new Simulation({ seed });
    sim.run(3 * S);
    for (const delay of [5.5, 8, 7.5, 5, 4.5]) {
      sim.o.delayUs = delay * S;
      const from = sim.now;
      sim.run(3 * S);
      const late = sim.seen.filter((p) => p.at > from + 1 * S && Math.abs(p.error) > 34 * MS);
      assert.deepEqual(late, [], 'seed ' + seed + ' delay ' + delay);
    }
  }
});

test('no picture runs on before it is due by more than one picture', () => {
  for (const seed of [1, 2, 3]) {
    const sim = new Simulation({ seed });
    for (const delay of [5, 6, 4, 7]) {
      sim.o.delayUs = delay * S;
      const from = sim.now + 300 * MS;
      sim.run(4 * S);
      const early = sim.seen.filter((p) => p.at > from && !p.held && p.error < -(sim.pictureUs + 17 * MS));
      assert.deepEqual(early, []);
    }
  }
});

test('the first picture is up within half a second when the buffer is warm', () => {
  const sim = new Simulation();
  sim.run(0.5 * S);
  assert.ok(sim.seen.some((p) => !p.held));
});

test('nothing is done while nothing is due', () => {
  const sim = new Simulation();
  sim.cutUs = 0;
  sim.run(5 * S);
  assert.deepEqual(sim.actions, []);
});

test('a hole is passed exactly when the first picture after it is due', () => {
  const sim = new Simulation();
  sim.run(5 * S);
  const n = Math.ceil((sim.due() + 1 * S) / sim.pictureUs);
  const hole = { fromUs: sim.capture(n), toUs: sim.capture(n + 20) };
  sim.holes.push(hole);
  const before = sim.seen.length;
  sim.run(4 * S);
  const after = sim.seen.slice(before).filter((p) => !p.held && p.at - sim.o.delayUs - p.error >= hole.toUs - 1);
  assert.ok(after.length > 50, 'pictures went on after the hole');
  assert.ok(after[0].at - sim.o.delayUs >= hole.toUs - sim.pictureUs, 'not before it was due');
  assert.ok(after[0].error < 50 * MS, 'and on time: ' + after[0].error);
  const settled = sim.measure(sim.now - 2 * S);
  assert.ok(settled.p95 <= 17);
});

test('a dry buffer is caught up with once it fills again', () => {
  const sim = new Simulation();
  sim.run(5 * S);
  sim.cutUs = sim.due() + 300 * MS;
  sim.run(1.2 * S);
  sim.cutUs = Infinity;
  const from = sim.now;
  sim.run(4 * S);
  assert.ok(sim.measure(from + 1 * S).p99 <= 34);
});

test('a device that stalls on rate changes is left with seeks', () => {
  const sim = new Simulation({ rateStallUs: 300 * MS, drift: 300e-6, seed: 4 });
  sim.run(60 * S);
  assert.equal(sim.regulator.rates.dear, true);
  const from = sim.now;
  sim.run(60 * S);
  const rates = sim.actions.filter((a) => a.at > from && a.action.kind === 'rate' && a.action.rate !== 1);
  assert.deepEqual(rates, []);
  assert.ok(sim.measure(from).p99 <= 170);
});

test('so is one whose clock jumps at rate changes and says nothing of it', () => {
  for (const seed of [1, 2, 3]) {
    const sim = new Simulation({ rateFlushUs: 60 * MS, drift: 300e-6, seed });
    sim.run(60 * S);
    const from = sim.now;
    sim.run(60 * S);
    const rates = sim.actions.filter((a) => a.at > from && a.action.kind === 'rate' && a.action.rate !== 1);
    assert.deepEqual(rates, [], 'seed ' + seed);
    assert.ok(sim.measure(from).p99 <= 170);
  }
});

test('a dear change now and then does not take the rates away', () => {
  const rates = new Rates();
  const before = new Readings();
  for (let i = 0; i < 3; i += 1) before.add(i, 5 * MS);
  for (const costs of [[60, 60, 1], [60, -300, 2], [0, 0, 60]]) {
    for (const ms of costs) {
      rates.changed(before);
      rates.look((5 + ms) * MS);
    }
  }
  assert.equal(rates.dear, false);
  // What lies on either side of a seek cannot be compared.
  for (let i = 0; i < 9; i += 1) {
    rates.changed(before);
    rates.forget();
    rates.look(300 * MS);
  }
  assert.equal(rates.dear, false);
});

test('a seek that never lands is asked for again', () => {
  const regulator = new Regulator();
  const at = (nowUs) => regulator.step({ nowUs, delayUs: 0, ranges: [{ startUs: 0, endUs: 100 * S }], positionUs: 0, waiting: false });
  assert.equal(at(10 * S).kind, 'seek');
  assert.equal(at(11 * S), null);
  assert.equal(at(12.5 * S).kind, 'seek');
});

test('a slipped glass asks for a new start, soon at first and then more and more rarely', () => {
  const judge = new Slip();
  const starts = [];
  let startedAt = 0;
  for (let t = 0; t < 180 * S; t += S / 25) {
    if (judge.look(t - startedAt > S / 2 ? 10 * MS : 0, t, t - startedAt)) {
      starts.push(t / S);
      startedAt = t;
    }
  }
  assert.ok(starts.length >= 5 && starts.length <= 9, String(starts));
  assert.ok(starts[2] < 5, 'three within five seconds');
  assert.ok(starts[starts.length - 1] - starts[starts.length - 2] >= 29, 'then hardly any');
});

test('late in a run a slip has to last before a start is asked for', () => {
  const judge = new Slip();
  for (let t = 0; t < 3.9 * S; t += S / 25) {
    assert.equal(judge.look(10 * MS, t, 60 * S + t), false);
  }
  assert.equal(judge.look(10 * MS, 4.1 * S, 64 * S), true);
});

test('a slip that is plainly seen is acted on at once', () => {
  const judge = new Slip();
  assert.equal(judge.look(20 * MS, 0, 60 * S), true);
});

test('what a refresh explains is no slip', () => {
  const pictures = new Readings();
  for (let t = 0; t < S; t += S / 30) {
    pictures.add(t, 8.3 * MS);
  }
  assert.equal(slip(pictures), 0);
  pictures.clear();
  for (let t = 0; t < S; t += S / 30) {
    pictures.add(t, -12 * MS);
  }
  assert.ok(Math.abs(slip(pictures) - 12 * MS) < 1);
});

test('one outlier in a stretch of readings changes nothing', () => {
  const readings = new Readings();
  for (let i = 0; i < 9; i += 1) readings.add(i, i === 4 ? 500 * MS : 2 * MS);
  assert.equal(readings.middle(), 2 * MS);
});
