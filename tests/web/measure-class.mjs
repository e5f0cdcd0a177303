// Measures the delay through a whole class: warm-up, two turns of two groups,
// their gather and walk, the stretch, a freeze in between.
//
//   scripts/measure-class [--delay 2] [--work 60] [--view picture|text] [--judge]
//
// With a view the sample unit's sheet stands beside the picture.
//
// stamp → glass and strip → glass as scripts/measure-delay has them, over all
// pictures that were seen, by the phase in which they were.

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { probe } from './probe.mjs';
import { delayFigures } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    delay: { type: 'string', default: '2' },
    work: { type: 'string', default: '60' },
    view: { type: 'string', default: '' },
    judge: { type: 'boolean', default: false },
  },
});
const delay_ms = Number(options.delay) * 1000;
const work_s = Number(options.work);
const TIMES = { warm_up_s: 15, briefing_s: 10, work_s, last_turn_s: 10, gather_s: 10, walk_s: 10, closing_s: 15 };
const failures = [];

function judge(what, holds) {
  if (!holds) failures.push(what);
}

/** The phase as the box says it, and since when it has been seen to be. */
async function followed(base, phases) {
  const { body } = await stage.api(base, '/api/class');
  const phase = body.class === null ? 'over' : body.class.time.phase;
  const last = phases[phases.length - 1];
  if (last === undefined || last.phase !== phase) phases.push({ phase, from_ms: Date.now() });
  return phase;
}

const camera = await stage.startCamera();
const stations = [1, 2].map((number) => ({ number, title: `Place ${number}`, delay_ms, ...(number === 1 ? { url: camera.url } : { seed: 2 }) }));
try {
  const server = await stage.startServer(stations, { lesson: false, top: options.view ? `units_dir = "${stage.root}/config/units"` : '' });
  if (options.view) {
    const chosen = await stage.api(server.base, '/api/showing', {
      method: 'PATCH', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ grade: 3, choice: options.view }),
    });
    if (chosen.status !== 200) throw new Error(JSON.stringify(chosen.body));
  }
  const browser = await stage.openBrowser();
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  const started = await stage.postJson(server.base, '/api/class/start', {
    id: 'measured', class: '3B', children: 6, groups: 2, not_shown: [], ticked: [1, 2], times: TIMES,
  });
  if (started.status !== 200 || started.body.asks.length) throw new Error(JSON.stringify(started.body));
  const phases = [];
  let paused = false;
  while (!['over', 'done'].includes(await followed(server.base, phases))) {
    await stage.sleep(250);
    const now = phases[phases.length - 1];
    // Half a minute into the first turn: everything stops once, and goes on.
    if (now.phase === 'work' && !paused && Date.now() - now.from_ms > Math.min(30, work_s / 2) * 1000) {
      paused = true;
      await stage.press(server.base, { press: 'hold', hold: 'freeze' });
      await stage.sleep(3000);
      await stage.press(server.base, { press: 'resume', hold: 'freeze' });
    }
  }
  const seen = (await page.evaluate(() => window.probe.slice())).filter((s) => !s.covered);
  phases.forEach(({ phase, from_ms }, i) => {
    const until_ms = i + 1 < phases.length ? phases[i + 1].from_ms : Infinity;
    const part = seen.filter((s) => s.glass_ms >= from_ms && s.glass_ms < until_ms);
    if (part.length < 2) console.log(`${phase.padEnd(10)} no picture`);
    else {
      const f = delayFigures(part, delay_ms);
      console.log(`${phase.padEnd(10)} ${part.length} pictures, median ${f.median_ms.toFixed(1)} p95 ${f.p95_ms.toFixed(1)} p99 ${f.p99_ms.toFixed(1)} worst ${f.worst_ms.toFixed(1)} ms`);
    }
  });
  const stamp = delayFigures(seen, delay_ms);
  const strip = delayFigures(seen, delay_ms, 'strip_ms');
  for (const [title, f] of [['stamp → glass', stamp], ['strip → glass', strip]]) {
    console.log(`${title}: ${f.pictures} pictures, median ${f.median_ms.toFixed(1)} p95 ${f.p95_ms.toFixed(1)} p99 ${f.p99_ms.toFixed(1)} worst ${f.worst_ms.toFixed(1)} ms, ${f.over_34_a_minute.toFixed(1)} a minute over 34 ms`);
  }
  judge('|median| ≤ 9 ms', Math.abs(stamp.median_ms) <= 9);
  judge('p95 ≤ 17 ms', stamp.p95_ms <= 17);
  judge('p99 ≤ 34 ms', stamp.p99_ms <= 34);
  judge('at most 3 a minute over 34 ms', stamp.over_34_a_minute <= 3);
  judge('pictures through both turns', seen.length > 2 * (work_s - delay_ms / 1000 - 10) * 25);
  judge(`no script error: ${page.errors}`, page.errors.length === 0);
  await browser.close();
} finally {
  await stage.endAll();
}
console.log(failures.length ? `not held: ${failures.join('; ')}` : 'all figures held');
process.exit(options.judge && failures.length ? 1 : 0);
