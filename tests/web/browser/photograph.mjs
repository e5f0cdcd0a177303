// Keeps a page as a picture for somebody to look at, and lets axe-core look at it.
// Not here: opening it, and bringing it where it is to be looked at.

import assert from 'node:assert/strict';
import { mkdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import * as stage from '../stage.mjs';

/** Where pictures of pages go. */
export const out = path.join(stage.root, 'tests/out');
mkdirSync(out, { recursive: true });
const axe = readFileSync(path.join(stage.root, 'tests/web/node_modules/axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** The violations of WCAG 2.2 AA that axe-core finds, a line each. */
export async function axeFinds(page) {
  if (!await page.evaluate(() => 'axe' in window)) await page.evaluate(axe);
  const { violations } = await page.evaluate((tags) => window.axe.run({ runOnly: tags }), TAGS);
  return violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(' ')}`);
}

/** A picture of it by this name; nothing sticks out sideways, and axe finds nothing. */
export async function photograph(page, name, { whole = true } = {}) {
  await page.screenshot({ path: path.join(out, `${name}.png`), fullPage: whole });
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth), false,
    `${name} scrolls sideways`);
  assert.deepEqual(await axeFinds(page), [], name);
}
