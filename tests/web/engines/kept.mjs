// Whether what a family is handed opens in other browsers: a clip and a still are
// kept, exported, unpacked, and opened from the disk in one engine after the other.

import { execFileSync } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import * as stage from '../stage.mjs';
import { drawTheMat, keepNow, list, startTheClass } from '../browser/keep.mjs';

const ATTEMPT_S = 4;

/** The unpacked file of one child. */
async function handedOut() {
  const stations = [{ number: 1, title: 'Low beam', delay_ms: 1000, seed: 1, attempt_s: ATTEMPT_S }];
  const server = await stage.startServer(stations, { lesson: false });
  const nora = (await list(server)).split('/').pop();
  await startTheClass(server);
  await drawTheMat(server);
  // Ten seconds to settle, and an attempt.
  await stage.sleep(18000);
  for (const what of ['clip', 'still']) await keepNow(server, nora, what);
  const file = await stage.post(server.base, `/roster/export/${nora}`, new URLSearchParams());
  const folder = mkdtempSync(path.join(tmpdir(), 'afterturn-'));
  writeFileSync(path.join(folder, 'a.zip'), Buffer.from(await file.arrayBuffer()));
  execFileSync('unzip', ['-q', path.join(folder, 'a.zip'), '-d', folder]);
  return pathToFileURL(path.join(folder, 'index.html')).href;
}

/** How the page's film and picture stand. Runs inside the page. */
function standing() {
  const video = document.querySelector('video');
  return {
    film: [video.videoWidth, video.videoHeight, video.duration],
    at_s: video.currentTime,
    still: document.querySelector('img').naturalWidth,
    error: video.error && video.error.message,
  };
}

/** Opens it in each engine; says whether all of them show all of it. */
export async function tryKept(engines) {
  const url = await handedOut();
  let all = true;
  for (const name of engines) {
    const { open } = await import(`./${name}.mjs`);
    const engine = await open();
    const page = await engine.show(url, 'void 0');
    await page.evaluate("document.querySelector('video').play() && null");
    let seen = null;
    const plays = await stage.until('it plays', async () => {
      seen = await page.evaluate(`(${standing})()`);
      return seen.at_s > 0.3 && seen.still > 0;
    }, { within_ms: 15000, every_ms: 200 }).then(() => true, () => false);
    const whole = plays && seen.film[0] === 1280 && Math.abs(seen.film[2] - ATTEMPT_S) < 0.1;
    console.log(`${whole ? 'ok     ' : 'not ok '}${engine.version}: ${JSON.stringify(seen)}`);
    all = all && whole;
    await engine.close();
  }
  await stage.endAll();
  return all;
}
