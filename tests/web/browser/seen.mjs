// What the tests expect of pictures on the glass. Not here: starting anything.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import * as stage from '../stage.mjs';
import { median } from '../figures.mjs';

/** Not sooner than this before it is due: one picture, one refresh… */
const EARLY_MS = 51;
/** …but for the picture that a seek lands on and holds until it is due. */
const LANDING_MS = 250;
/** Where the middle of them has to be on a machine busy with other things. */
const NEAR_MS = 150;

const english = readFileSync(path.join(stage.root, 'web/words/en.ftl'), 'utf8');

/** A sentence of the English words, as the page has to say it. */
export function sentence(id, values = {}) {
  const found = new RegExp(`^${id} = (.+)$`, 'm').exec(english);
  assert.ok(found, `${id} is a sentence`);
  return found[1].replace(/\{ \$(\w+) \}/g, (_, name) => values[name]);
}

/** Pictures seen from now on for a while. */
export async function seenFor(page, ms) {
  await page.evaluate(() => { window.probe.length = 0; });
  await stage.sleep(ms);
  return page.evaluate(() => window.probe.slice());
}

/** A late picture, uncovered, in order, and as late as was set. */
export function assertLate(seen, delay_ms, { least = 20 } = {}) {
  assert.ok(seen.length >= least, `${seen.length} pictures`);
  assert.deepEqual(seen.filter((s) => s.covered), [], 'none is covered');
  for (let i = 1; i < seen.length; i += 1) {
    // The same again where the page started the picture anew.
    assert.ok(seen[i].stamp_ms >= seen[i - 1].stamp_ms, 'capture time never falls');
  }
  const errors = seen.map((s) => s.glass_ms - s.stamp_ms - delay_ms);
  const early = errors.filter((ms) => ms < -EARLY_MS);
  assert.ok(early.length <= seen.length * 0.05, `${early.length} of ${seen.length} came early: ${early}`);
  assert.ok(Math.min(...errors) >= -LANDING_MS, `one was ${-Math.min(...errors)} ms early`);
  assert.ok(Math.abs(median(errors)) <= NEAR_MS, `the middle is ${median(errors)} ms off`);
  const strips = seen.filter((s) => s.strip_ms !== null);
  assert.ok(strips.length > seen.length * 0.9, 'strips can be read');
  // What is really in the picture is as old as its stamp says.
  const apart = strips.map((s) => s.stamp_ms - s.strip_ms);
  assert.ok(Math.abs(median(apart)) <= NEAR_MS, `stamp and strip are ${median(apart)} ms apart`);
}

/** Waits for a picture that is seen. */
export function picture(page, within_ms = 40000) {
  return stage.until('a picture is seen', () => page.evaluate(
    () => document.querySelector('#card').hidden && window.probe.length > 0 && !window.probe[window.probe.length - 1].covered
      && performance.timeOrigin + performance.now() - window.probe[window.probe.length - 1].glass_ms < 300,
  ), { within_ms });
}

/** What covers the glass, in the page's words; empty if nothing does. */
export function card(page) {
  return page.evaluate(() => {
    const place = document.querySelector('#card');
    return place.hidden ? '' : place.innerText.trim();
  });
}

/** What stands over the picture's lower edge. */
export function notice(page) {
  return page.evaluate(() => {
    const place = document.querySelector('#notice');
    return place.hidden ? '' : place.innerText.trim();
  });
}

/** A mark that a reload would wipe off. */
export const mark = (page) => page.evaluate(() => { window.marked = true; });
export async function assertNotReloaded(page) {
  assert.equal(await page.evaluate(() => window.marked), true, 'the page was not reloaded');
}

export function assertNoErrors(page, allowed = /$^/) {
  assert.deepEqual(page.errors.filter((error) => !allowed.test(error)), []);
}
