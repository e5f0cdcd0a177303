// Pulls the plug in the middle of a class, at random moments: started again, the
// server is in the right phase, to the second, and every press it answered still
// counts. A clock on the wall that is wrong by a year is noticed and asked about,
// and no camera is on until somebody has answered.
//
//   node tests/web/class-kills.mjs [--kills 20] [--seed N]

import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { randomFrom } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    kills: { type: 'string', default: '20' },
    seed: { type: 'string', default: String(Date.now() % 100000) },
  },
});
const random = randomFrom(Number(options.seed));
const stations = [{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }, { number: 2, title: 'Box jump', delay_ms: 2000, seed: 2 }];
const TIMES = { warm_up_s: 4, briefing_s: 3, work_s: 12, last_turn_s: 4, gather_s: 3, walk_s: 4, closing_s: 6 };
const YEAR_US = 365 * 86400 * 1e6;
/** To the second. */
const EXACT_MS = 1000;

/** What the class is to do, by a reckoning of its own: phases and their ends. */
class Schedule {
  constructor(beganMs) {
    const turn = (n) => [['work', n, 8], ['last_turn', n, 4]];
    this.phases = [['warm_up', 1, 4], ['briefing', 1, 3], ...turn(1), ['gather', 1, 3], ['walk', 1, 4], ...turn(2), ['closing', 2, 6]];
    let end = beganMs;
    this.phases = this.phases.map(([phase, number, s]) => {
      end += s * 1000;
      return { phase, number, endMs: end };
    });
  }

  at(ms) {
    return this.phases.find((p) => p.endMs > ms) || null;
  }

  /** Half a minute more from now on. */
  more(ms) {
    const from = this.at(ms);
    if (from === null) return;
    let late = false;
    for (const p of this.phases) {
      late = late || p === from;
      if (late) p.endMs += 30000;
    }
    // More in a last turn is work again, until the last turn comes.
    if (from.phase === 'last_turn') {
      this.phases.splice(this.phases.indexOf(from), 0, { phase: 'work', number: from.number, endMs: from.endMs - 4000 });
    }
  }
}

async function standing(base) {
  const { status, body } = await stage.api(base, '/api/class');
  assert.equal(status, 200);
  return body;
}

function check(said, schedule) {
  const nowMs = said.now_us / 1000;
  const near = [-EXACT_MS, 0, EXACT_MS].map((off) => schedule.at(nowMs + off));
  if (said.class === null) {
    assert.ok(near.includes(null), `the class is gone in its ${JSON.stringify(near[1])}`);
    return;
  }
  const { phase, turn, left_ms } = said.class.time;
  const right = near.filter((p) => p !== null && p.phase === phase && p.number === turn);
  assert.ok(right.length > 0, `${phase} ${turn}, not ${JSON.stringify(near)}`);
  // Of work, what is left is told up to the end of its last turn.
  const end = phase === 'work' ? schedule.phases[schedule.phases.indexOf(right[0]) + 1] : right[0];
  const offMs = Math.abs(end.endMs - nowMs - left_ms);
  assert.ok(offMs < EXACT_MS, `${offMs} ms off in ${phase}`);
}

console.log(`seed ${options.seed}`);
let server = await stage.startServer(stations, { lesson: false });
let schedule = null;
let classes = 0;
const phases = new Set();
for (let kill = 0; kill < Number(options.kills); kill += 1) {
  if ((await standing(server.base)).class === null) {
    const { now } = await stage.startClass(server.base, { times: TIMES, anew: true });
    schedule = new Schedule(now.class.time.ends_us / 1000 - TIMES.warm_up_s * 1000);
    classes += 1;
  }
  await stage.sleep(random() * 3000);
  // Rarely: half a minute is a long time for somebody who waits to kill.
  const pressed = kill % 10 === 9;
  if (pressed) {
    const { status, body } = await stage.press(server.base, { press: 'more' }, `more-${kill}`);
    if (status === 200) schedule.more(body.now.now_us / 1000);
  }
  await stage.end(server.child, 'SIGKILL');
  await stage.sleep(random() * 1500);
  server = await stage.startServer(stations, { port: server.port, folder: server.folder });
  const said = await standing(server.base);
  assert.equal(said.asks, null, 'the clocks agree');
  check(said, schedule);
  if (said.class !== null) phases.add(said.class.time.phase);
  if (pressed && said.class !== null) {
    const again = await stage.press(server.base, { press: 'more' }, `more-${kill}`);
    assert.equal(again.body.already, true, 'a press whose answer was lost counts once');
    check(again.body.now, schedule);
  }
}
console.log(`${options.kills} kills in ${classes} classes, found in ${[...phases].join(', ')}`);
assert.ok(phases.size > 3, 'it was killed in several phases');

// The wall clock, a year off after the restart: as if it had been right before.
if ((await standing(server.base)).class !== null) await stage.press(server.base, { press: 'end' });
for (const offUs of [YEAR_US, -YEAR_US]) {
  await stage.startClass(server.base, { anew: true });
  await stage.end(server.child, 'SIGKILL');
  const file = path.join(server.folder, 'class.json');
  const journal = JSON.parse(readFileSync(file, 'utf8'));
  journal.class.read.wall_us -= offUs;
  writeFileSync(file, JSON.stringify(journal));
  server = await stage.startServer(stations, { port: server.port, folder: server.folder });
  const said = await standing(server.base);
  assert.ok(said.class === null && said.asks.why === 'wall_clock', JSON.stringify(said));
  const answered = await stage.postJson(server.base, '/api/class/answer', { answer: 'go_on' });
  assert.equal(answered.body.class.time.phase, 'warm_up');
  await stage.press(server.base, { press: 'end' });
}
await stage.endAll();
console.log('a wall clock a year off is asked about');
process.exit(0);
