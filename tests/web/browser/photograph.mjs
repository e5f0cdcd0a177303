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
/** Whether everything is photographed, or each size and each language once; scripts/test --all. */
export const ALL = process.env.AFTERTURN_ALL === '1';
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/**
 * The pairs of a language and a size (or a view, or a look) that are photographed:
 * all of them, or each size once, in turns, beginning with Spanish, whose words are
 * longest, on what stands first and is narrowest. One size alone is seen in both.
 */
export function inTurns(ones, all = ALL) {
  const languages = ['es', 'en'];
  if (all || ones.length === 1) return languages.flatMap((language) => ones.map((one) => [language, one]));
  return ones.map((one, i) => [languages[i % 2], one]);
}

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
