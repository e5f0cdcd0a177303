// The teacher's remote.

import assert from 'node:assert/strict';
import net from 'node:net';
import * as stage from '../stage.mjs';
import { probe } from '../probe.mjs';
import { assertLate, assertNoErrors, assertNotReloaded, mark, picture, seenFor, sentence } from './seen.mjs';

const delay = async (base, number) => (await stage.api(base, `/api/stations/${number}`)).body.delay_ms;

async function pressAndType(browser) {
  const server = await stage.startServer([
    { number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 },
    { number: 2, title: 'Box jump', delay_ms: 6000, seed: 2 },
  ]);
  const tv = await stage.openPage(browser, `${server.base}/tv/1`, { init: probe });
  await picture(tv);
  await mark(tv);
  const remote = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 390, height: 844 } });
  const row = remote.locator('[data-number="1"]');
  await row.locator('.opened > summary').click();
  await row.locator('.more').click();
  await stage.until('half a second more', async () => (await delay(server.base, 1)) === 2500);
  const field = row.locator('.seconds');
  await field.fill('4');
  await field.press('Enter');
  await stage.until('four seconds', async () => (await delay(server.base, 1)) === 4000);
  // Covered for as long as the new delay is longer, and for what the page needs besides.
  await stage.sleep(1500);
  await picture(tv);
  await stage.sleep(500);
  assertLate(await seenFor(tv, 2000), 4000);
  await assertNotReloaded(tv);
  assert.equal(await delay(server.base, 2), 6000, 'the other station is as it was');

  await field.fill('99');
  await field.press('Enter');
  const most = (await stage.api(server.base, '/api/stations/1')).body.delay_most_ms / 1000;
  await stage.until('what is wrong, where it was typed', async () => (
    await row.locator('.said').innerText()) === sentence('live-remote-bad-number', { most }));
  assert.equal(await field.getAttribute('aria-invalid'), 'true');
  // Still there after the box has been asked again.
  await stage.sleep(1500);
  assert.equal(await field.inputValue(), '99', 'nothing typed is lost');
  assert.equal(await delay(server.base, 1), 4000);
  assertNoErrors(remote);
  assertNoErrors(tv);
}

async function keyboardOnly(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  const page = await stage.openPage(browser, `${server.base}/remote`, { viewport: { width: 1024, height: 768 } });
  await stage.until('the row is there', () => page.locator('[data-number="1"] button').count());
  await stage.until('the class is there', () => page.locator('#presses').isVisible());
  await page.locator('[data-number="1"] .opened > summary').focus();
  await page.keyboard.press('Enter');
  await stage.until('the card opens', () => page.locator('[data-number="1"] .opened[open]').count());
  const setup = page.locator('[data-number="1"] .setup summary');
  await setup.focus();
  await page.keyboard.press('Enter');
  await stage.until('the camera setup opens', () => page.locator('[data-number="1"] .setup[open]').count());
  await page.evaluate(() => {
    document.activeElement.blur();
    window.controls = () => [...document.querySelectorAll('a, button, input, summary')].filter((one) => one.checkVisibility());
  });
  const controls = await page.evaluate(() => window.controls().length);
  const reached = new Set();
  for (let i = 0; i < controls + 2; i += 1) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const here = document.activeElement;
      if (!here || here === document.body) return null;
      const style = getComputedStyle(here);
      const seen = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0;
      return { index: window.controls().indexOf(here), seen };
    });
    if (at) {
      assert.ok(at.seen, `control ${at.index} shows that it has the focus`);
      reached.add(at.index);
    }
  }
  assert.equal(reached.size, controls, 'Tab reaches every control');
  await page.locator('[data-number="1"] .more').focus();
  await page.keyboard.press('Enter');
  await stage.until('half a second more', async () => (await delay(server.base, 1)) === 2500);
  await page.keyboard.press('Space');
  await stage.until('and again', async () => (await delay(server.base, 1)) === 3000);
  await page.keyboard.press('Shift+Tab');
  await page.keyboard.press('ArrowDown');
  await stage.until('less, from the field', async () => (await delay(server.base, 1)) === 2500);
  assertNoErrors(page);
}

async function boxAway(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  const page = await stage.openPage(browser, `${server.base}/remote`);
  await page.click('[data-number="1"] .opened > summary');
  const field = page.locator('[data-number="1"] .seconds');
  await field.waitFor();
  await stage.end(server.child, 'SIGKILL');
  await stage.until('it says the box is away', async () => /does not answer/.test(await page.innerText('body')));
  await field.fill('7');
  await field.press('Enter');
  await stage.until('it says the press was lost', async () => /Not set/.test(await page.innerText('body')));
  assert.equal(await field.inputValue(), '7');
}

/** A screen that asks for pictures and then never reads its socket again. */
function silentScreen(port) {
  const frame = Buffer.from('{"type":"want","from_us":null}');
  // RFC 6455 §5.2: a final text frame, masked; a mask of zeros changes nothing.
  const head = Buffer.from([0x81, 0x80 | frame.length, 0, 0, 0, 0]);
  const socket = net.connect(port, '127.0.0.1');
  socket.write('GET /api/stations/1/view HTTP/1.1\r\n'
    + `Host: 127.0.0.1:${port}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n`
    + 'Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n');
  socket.once('readable', () => { socket.write(Buffer.concat([head, frame])); });
  socket.on('error', () => {});
  return socket;
}

async function silentScreenIsSaid(browser) {
  const server = await stage.startServer([{ number: 1, title: 'Low beam', delay_ms: 2000, seed: 1 }]);
  const page = await stage.openPage(browser, `${server.base}/remote`);
  await page.click('[data-number="1"] .opened > summary');
  const screens = page.locator('[data-number="1"] .screens');
  const socket = silentScreen(server.port);
  await stage.until('a screen is there', async () => (
    (await screens.innerText()).startsWith(sentence('live-remote-screens', { screens: 1 }))));
  await stage.until('it does not answer', async () => (
    (await screens.innerText()).includes(sentence('live-remote-stuck', { screens: 1 }))), { within_ms: 30000 });
  await stage.until('what it misses is counted', async () => {
    const { body } = await stage.api(server.base, '/api/stations/1');
    return body.viewers.some((v) => v.stuck_ms >= 2000 && v.lost_pictures > 30);
  });
  socket.destroy();
  assertNoErrors(page);
}

export const tests = [
  ['the remote sets a delay and the screen follows', pressAndType],
  ['the remote by keyboard alone', keyboardOnly],
  ['the remote says which screens do not answer', silentScreenIsSaid],
  ['the remote when the box does not answer', boxAway],
];
