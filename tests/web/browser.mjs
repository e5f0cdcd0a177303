// The browser tests: real Chromium, a real RTSP camera, the real server.
//
//   node tests/web/browser.mjs [part of a name]
//   AFTERTURN_ALL=1 node tests/web/browser.mjs
//
// One browser, one test at a time; a failure does not stop the rest. Every test
// also fails if a page asks anybody but the box for anything. Bounds are sanity,
// not speed: speed is measured by scripts/measure-delay, and AFTERTURN_JUDGE=1
// holds the tests to what is promised.
//
// Most of a test is waiting for seconds to pass, or taking photographs. A test that
// names another as the one that stands for it is left out, and of sizes and
// languages each is photographed once, unless all is asked for; a test that is
// named is never left out.
//
// These tests watch seconds pass. A shared machine that stops for one of them
// spoils a test through no fault of ours, so what failed is run once more at the
// end, and both outcomes are printed; what fails twice has failed, and more than
// AGAIN_AT_MOST of them fail the run however they end.

import * as stage from './stage.mjs';
import { watchRequests } from './browser/outside.mjs';
import { ALL } from './browser/photograph.mjs';
import { tests as camera } from './browser/camera.mjs';
import { tests as cameraFaults } from './browser/camera-faults.mjs';
import { tests as view } from './browser/view.mjs';
import { tests as cameras } from './browser/cameras.mjs';
import { tests as doors } from './browser/doors.mjs';
import { tests as elsewhere } from './browser/elsewhere.mjs';
import { tests as faults } from './browser/faults.mjs';
import { tests as remote } from './browser/remote.mjs';
import { tests as remoteLooks } from './browser/remote-looks.mjs';
import { tests as setup } from './browser/setup.mjs';
import { tests as hide } from './browser/hide.mjs';
import { tests as shown } from './browser/shown.mjs';
import { tests as again } from './browser/again.mjs';
import { tests as publishers } from './browser/publishers.mjs';
import { tests as lesson } from './browser/class.mjs';
import { tests as phases } from './browser/phases.mjs';
import { tests as together } from './browser/together.mjs';
import { tests as clicker } from './browser/clicker.mjs';
import { tests as now } from './browser/now.mjs';
import { tests as sheet } from './browser/sheet.mjs';
import { tests as unit } from './browser/unit.mjs';
import { tests as tuning } from './browser/tuning.mjs';
import { tests as trust } from './browser/trust.mjs';
import { tests as vault } from './browser/vault.mjs';
import { tests as keeping } from './browser/keep.mjs';
import { tests as sound } from './browser/sound.mjs';
import { tests as quiet } from './browser/quiet.mjs';
import { tests as flashes } from './browser/flashes.mjs';
import { tests as looks } from './browser/looks.mjs';
import { tests as figures } from './browser/figures.mjs';

const wanted = process.argv[2] || '';
const all = [
  ...view,
  ...camera,
  ...cameraFaults,
  ...publishers,
  ...doors,
  ...elsewhere,
  ...faults,
  ...hide,
  ...shown,
  ...again,
  ...lesson,
  ...phases,
  ...together,
  ...clicker,
  ...remote,
  ...now,
  ...setup,
  ...cameras,
  ...sheet,
  ...unit,
  ...tuning,
  ...trust,
  ...vault,
  ...keeping,
  ...sound,
  ...quiet,
  ...flashes,
  ...figures,
  ...looks,
  ...remoteLooks,
].filter(([name]) => name.includes(wanted));
const tests = all.filter(([, , standsFor]) => wanted !== '' || ALL || !standsFor);
for (const [name, , standsFor] of all.filter((one) => !tests.includes(one))) console.log(`left out: ${name}; for it stands ${standsFor}`);
// A whole class is filmed in three minutes, and a machine may be half as fast.
const LONGEST_MS = 600000 + Number(process.env.AFTERTURN_MASH_S || 0) * 1000;
const AGAIN_AT_MOST = 6;

/** Ends the test that runs; what goes wrong outside its own steps is its failure, not everybody's. */
let fail = (error) => { throw error; };
process.on('uncaughtException', (error) => fail(error));

/** Whether it passed; says so either way. */
async function run([name, test]) {
  const began = Date.now();
  const browser = await stage.openBrowser();
  const assertNobodyElse = watchRequests(browser);
  let watchdog;
  try {
    const late = new Promise((_, reject) => {
      fail = reject;
      watchdog = setTimeout(() => reject(new Error(`not done after ${LONGEST_MS} ms`)), LONGEST_MS);
    });
    await Promise.race([test(browser), late]);
    assertNobodyElse();
    console.log(`ok     ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)`);
    return true;
  } catch (error) {
    console.log(`not ok ${name}: ${error.stack || error}`);
    return false;
  } finally {
    clearTimeout(watchdog);
    await browser.close();
    await stage.endAll();
  }
}

const failed = [];
for (const test of tests) if (!await run(test)) failed.push(test);
let still = failed.length;
if (failed.length > 0 && failed.length <= AGAIN_AT_MOST) {
  console.log(`once more: ${failed.map(([name]) => name).join('; ')}`);
  for (const test of failed) if (await run(test)) still -= 1;
}
console.log(`${tests.length - still} passed, ${still} failed, ${failed.length} failed at first`);
process.exit(still || !tests.length ? 1 : 0);
