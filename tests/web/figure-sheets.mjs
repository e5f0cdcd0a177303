// Contact sheets of the figures, drawn by a real Chromium, to be looked at.
//
//   node tests/web/figure-sheets.mjs FOLDER [part of an id]
//
// Not here: any judgement.

import { mkdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { chromium } from 'playwright-core';
import { figures, names } from '../../web/figures/all.js';
import { period } from '../../web/figures/motion.js';

const [folder, wanted] = process.argv.slice(2);
const web = new URL('../../web/', import.meta.url).pathname;
const PHASES = 6;
mkdirSync(folder, { recursive: true });
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || '/usr/bin/chromium' });
const page = await browser.newPage({ viewport: { width: 1500, height: 900 } });
page.on('pageerror', (error) => { console.error(error); process.exitCode = 1; });
await page.route('http://figures.test/**', (route) => {
  const file = new URL(route.request().url()).pathname;
  return file === '/'
    ? route.fulfill({ contentType: 'text/html', body: '<!DOCTYPE html><body></body>' })
    : route.fulfill({ contentType: 'text/javascript', body: readFileSync(path.join(web, file), 'utf8') });
});
await page.goto('http://figures.test/');

/** @param {{id: string, t: number | null}[]} cells */
async function sheet(file, cells, height, columns, paper) {
  await page.evaluate(async ({ cells, height, columns, paper }) => {
    const { figures } = await import('/figures/all.js');
    const { draw, drawStill } = await import('/figures/draw.js');
    document.body.innerHTML = '';
    document.body.style.cssText = `margin:4px;font:12px sans-serif;display:grid;gap:4px;grid-template-columns:repeat(${columns},1fr);` +
      (paper ? 'background:#fbf9f4;color:#1b1a18' : 'background:#14181c;color:#f6f3ea');
    for (const { id, t } of cells) {
      const cell = document.createElement('div');
      const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
      svg.style.cssText = `display:block;width:100%;height:${height}px`;
      if (t === null) drawStill(svg, figures[id]); else draw(svg, figures[id], t);
      cell.append(svg, document.createTextNode(t === null ? id : ''));
      document.body.append(cell);
    }
  }, { cells, height, columns, paper: !!paper });
  await page.screenshot({ path: path.join(folder, file), fullPage: true });
}

const some = names.filter((id) => !wanted || id.includes(wanted));
await sheet('stills.png', some.map((id) => ({ id, t: null })), 190, 8, false);
await sheet('stills-small.png', some.map((id) => ({ id, t: null })), 48, 16, false);
await sheet('stills-paper.png', some.map((id) => ({ id, t: null })), 190, 8, true);
const moving = some.filter((id) => figures[id].loop !== 'none');
for (let i = 0; i < moving.length; i += 5) {
  const cells = moving.slice(i, i + 5).flatMap((id) => [{ id, t: null }].concat(
    Array.from({ length: PHASES }, (_, n) => ({ id, t: (period(figures[id]) * (n + 0.5)) / PHASES }))));
  await sheet(`moving-${i / 5 + 1}.png`, cells, 165, PHASES + 1, false);
}
await browser.close();
console.log(`${some.length} figures, ${moving.length} of them moving`);
