// Measures how a station comes back: its RTSP server is killed and started
// again, over and over; the other station must not notice.
//
//   scripts/measure-recovery [--rounds 10] [--delay 2] [--away 4] [--judge]
//
// Late pictures go on while the camera is away, until the last is shown; so
// three moments are told apart after a kill: the notice on the screen (live),
// the full card (when the late pictures have run out), and, after the camera's
// return, the first new picture: in the ring (live) and on the glass (a delay
// later).

import { parseArgs } from 'node:util';
import * as stage from './stage.mjs';
import { probe } from './probe.mjs';
import { quantile } from './figures.mjs';

const { values: options } = parseArgs({
  options: {
    rounds: { type: 'string', default: '10' },
    delay: { type: 'string', default: '2' },
    away: { type: 'string', default: '4' },
    judge: { type: 'boolean', default: false },
  },
});
const delay_ms = Number(options.delay) * 1000;
const away_ms = Number(options.away) * 1000;
const failures = [];

/** When the page's notice and card come and go, noted in the page itself. */
function noteCovers() {
  window.covers = [];
  document.addEventListener('DOMContentLoaded', () => {
    const note = () => window.covers.push({
      at_ms: performance.timeOrigin + performance.now(),
      notice: !document.querySelector('#notice').hidden,
      card: document.querySelector('#card').hidden ? null : document.querySelector('#card').dataset.kind,
    });
    new MutationObserver(note).observe(document.querySelector('#glass'), { subtree: true, attributes: true });
    note();
  });
}

function judge(what, holds) {
  if (!holds) failures.push(what);
}

async function main() {
  let camera = await stage.startCamera(0, ['--seed', '1']);
  const other = await stage.startCamera(0, ['--seed', '2']);
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms, url: camera.url },
    { number: 2, title: 'Box jump', delay_ms, url: other.url },
  ]);
  const browser = await stage.openBrowser();
  const init = `(${noteCovers})(); (${probe})();`;
  const page = await stage.openPage(browser, `${server.base}/tv/1`, { init: { content: init } });
  const beside = await stage.openPage(browser, `${server.base}/tv/2`, { init: { content: init } });
  await stage.sleep(delay_ms + 4000);
  await beside.evaluate(() => { window.probe.length = 0; window.covers.length = 0; });

  const rows = [];
  for (let round = 0; round < Number(options.rounds); round += 1) {
    await page.evaluate(() => { window.probe.length = 0; window.covers.length = 0; });
    const killed_ms = Date.now();
    await stage.end(camera.child, 'SIGKILL');
    await stage.sleep(away_ms);
    const { port } = camera;
    camera = await stage.startCamera(port, ['--seed', '1']);
    const back_ms = Date.now();
    await stage.until('the station shows again', async () => {
      const { body } = await stage.api(server.base, '/api/stations/1');
      return body.camera.state === 'showing' && body.newest_us / 1000 > back_ms;
    }, { every_ms: 20 });
    const ring_ms = Date.now() - back_ms;
    await stage.sleep(delay_ms + 3500);
    const { seen, covers } = await page.evaluate(() => ({ seen: window.probe.slice(), covers: window.covers.slice() }));
    const first = (test) => { const hit = covers.find(test); return hit ? hit.at_ms - killed_ms : NaN; };
    const last_good = seen.filter((s) => s.stamp_ms < killed_ms).pop();
    const fresh = seen.filter((s) => s.stamp_ms > back_ms && !s.covered);
    const right = fresh.filter((s) => Math.abs(s.glass_ms - s.stamp_ms - delay_ms) <= 34);
    rows.push({
      notice_ms: first((c) => c.notice || c.card),
      card_after_last_ms: last_good ? killed_ms + first((c) => c.card) - last_good.glass_ms : NaN,
      ring_ms,
      glass_ms: fresh.length ? fresh[0].glass_ms - back_ms : NaN,
      right_ms: right.length ? right[0].glass_ms - back_ms : NaN,
    });
    console.log(`${String(round + 1).padStart(3)}  ${Object.entries(rows[round]).map(([k, v]) => `${k} ${v.toFixed(0)}`).join('  ')}`);
  }
  const worst = (key) => Math.max(...rows.map((row) => row[key]));
  const { beside_seen, beside_covers } = await beside.evaluate(() => ({ beside_seen: window.probe.slice(), beside_covers: window.covers.slice() }));
  const errors = beside_seen.map((s) => Math.abs(s.glass_ms - s.stamp_ms - delay_ms));
  console.log(`worst: notice ${worst('notice_ms').toFixed(0)} ms, card ${worst('card_after_last_ms').toFixed(0)} ms after the last due picture,`);
  console.log(`       back in the ring ${worst('ring_ms').toFixed(0)} ms, on the glass ${worst('glass_ms').toFixed(0)} ms after the camera's return (the delay is ${delay_ms})`);
  console.log(`other station: ${beside_seen.length} pictures, p95 ${quantile(errors, 0.95).toFixed(1)} ms, p99 ${quantile(errors, 0.99).toFixed(1)} ms, covered ${beside_covers.filter((c) => c.card || c.notice).length} times`);
  judge('notice within 2 s', worst('notice_ms') <= 2000);
  judge('card within 0.5 s of the last picture', worst('card_after_last_ms') <= 500);
  judge('back in the ring within 2 s', worst('ring_ms') <= 2000);
  judge('back on the glass within the delay and 2 s', worst('glass_ms') <= delay_ms + 2000);
  judge('other station never covered', beside_covers.every((c) => !c.card && !c.notice));
  judge('other station on time', quantile(errors, 0.99) <= 34);
  judge(`no script errors: ${[...page.errors, ...beside.errors]}`, page.errors.length + beside.errors.length === 0);
  await browser.close();
}

try {
  await main();
} finally {
  await stage.endAll();
}
console.log(failures.length ? `not held: ${failures.join('; ')}` : 'all figures held');
process.exit(options.judge && failures.length ? 1 : 0);
