// How the remote looks in each state of a class, with the eight stations of a
// whole circuit; and that all of it is in reach of a thumb.

import assert from 'node:assert/strict';
import * as stage from '../stage.mjs';
import { look } from './looks.mjs';

const SIZES = [[390, 844], [1024, 768], [1920, 1080]];
/** What WCAG 2.2 asks for is 24 px; a thumb on the move gets twice that. */
const THUMB_PX = 48;
const TITLES = ['Beam walk', 'Box jump', 'Swing across', 'Over the stack', 'Roll down', 'Hold a shape', 'Weight on hands', 'Jump the rope'];

/** One drawn camera; the others are away, so that the machine has little to do. */
function stations() {
  return TITLES.map((title, i) => ({
    number: i + 1, title, delay_ms: 5000 + i * 1000, ...(i === 0 ? { seed: 1 } : { url: 'rtsp://127.0.0.1:9/cam' }),
  }));
}

async function assertThumbs(page, name) {
  const small = await page.evaluate((least) => [...document.querySelectorAll('button, input, summary, #remote a')]
    .filter((one) => one.checkVisibility() && !one.closest('noscript'))
    // A tick's label is pressed as well as its box.
    .map((one) => [one, (one.closest('label.tick') || one).getBoundingClientRect()])
    .filter(([, box]) => box.width < least || box.height < least)
    .map(([one, box]) => `${one.outerHTML.slice(0, 80)} ${Math.round(box.width)}×${Math.round(box.height)}`), THUMB_PX);
  assert.deepEqual(small, [], name);
}

const shown = (selector, then = () => {}) => async (page) => {
  await stage.until(selector, () => page.isVisible(selector), { within_ms: 20000 });
  await then(page);
  await stage.sleep(300);
  await assertThumbs(page, selector);
};

async function everyState(browser) {
  const { base } = await stage.startServer(stations(), { lesson: false });
  const show = (name, ready, more = {}) => look(browser, base, '/remote', SIZES, { name: `remote-${name}`, ready, whole: true, ...more });
  await show('first-start', shown('#start-groups button', async (page) => {
    await page.click('#start-times > summary');
  }));
  await stage.startClass(base, { class: '3B', children: 23 });
  const top = async (page) => {
    await page.evaluate(() => window.scrollTo(0, 600));
    const box = await page.locator('#class-left').boundingBox();
    assert.ok(box.y >= 0 && box.y < 120, `the time stays on top: ${box.y}`);
    await page.evaluate(() => window.scrollTo(0, 0));
  };
  await show('work', shown('#presses', top));
  await look(browser, base, '/remote', SIZES.slice(0, 1), { name: 'remote-open', whole: true, ready: shown('#presses', (page) => page.click('[data-number="2"] .opened > summary')) });
  await stage.press(base, { press: 'hold', hold: 'freeze' });
  await show('freeze', shown('#presses'));
  await stage.press(base, { press: 'resume', hold: 'freeze' });
  await stage.press(base, { press: 'hold', hold: 'accident' });
  await stage.press(base, { press: 'accident_at', station: 4 });
  // The other cameras are off, and not for want of a class.
  const off = async (page) => assert.doesNotMatch(await page.innerText('body'), /No class|No hay clase/);
  await show('accident', shown('#where', off));
  await stage.press(base, { press: 'resume', hold: 'accident' });
  const away = shown('#presses', async (page) => {
    await page.context().setOffline(true);
    await page.click('[data-press="next"]');
    await stage.until('the press', () => page.isVisible('.again'), { within_ms: 20000 });
    await stage.until('the notice', () => page.isVisible('#notice'), { within_ms: 20000 });
  });
  await show('lost', away, { fine: /ERR_INTERNET_DISCONNECTED/ });
  await stage.press(base, { press: 'end' });
  await show('no-class', shown('#start-known button'));
}

export const tests = [
  ['the remote in every state, every size, both languages', everyState],
];
