// The browser tests: real Chromium, a real RTSP camera, the real server.
//
//   node tests/web/browser.mjs [part of a name]
//
// One browser, one test at a time; a failure does not stop the rest. Every test
// also fails if a page asks anybody but the box for anything. Bounds are sanity,
// not speed: speed is measured by scripts/measure-delay.

import * as stage from './stage.mjs';
import { watchRequests } from './browser/outside.mjs';
import { tests as view } from './browser/view.mjs';
import { tests as doors } from './browser/doors.mjs';
import { tests as faults } from './browser/faults.mjs';
import { tests as remote } from './browser/remote.mjs';
import { tests as hide } from './browser/hide.mjs';
import { tests as trust } from './browser/trust.mjs';
import { tests as vault } from './browser/vault.mjs';
import { tests as looks } from './browser/looks.mjs';

const wanted = process.argv[2] || '';
const tests = [...view, ...doors, ...faults, ...hide, ...remote, ...trust, ...vault, ...looks].filter(([name]) => name.includes(wanted));
const LONGEST_MS = 120000;
let passed = 0;
let failed = 0;

for (const [name, test] of tests) {
  const began = Date.now();
  const browser = await stage.openBrowser();
  const assertNobodyElse = watchRequests(browser);
  let watchdog;
  try {
    const late = new Promise((_, reject) => {
      watchdog = setTimeout(() => reject(new Error(`not done after ${LONGEST_MS} ms`)), LONGEST_MS);
    });
    await Promise.race([test(browser), late]);
    assertNobodyElse();
    passed += 1;
    console.log(`ok     ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)`);
  } catch (error) {
    failed += 1;
    console.log(`not ok ${name}: ${error.stack || error}`);
  } finally {
    clearTimeout(watchdog);
    await browser.close();
    await stage.endAll();
  }
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed || !passed ? 1 : 0);
