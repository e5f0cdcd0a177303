// *Next* on a clicker, short and long: web/live/clicker.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { Clicker, LastClick, LONG_MS } from '../../web/live/clicker.js';
import { asksAgain } from '../../web/live/again.js';

const event = (key, repeat = false, held = {}) => ({ key, repeat, ctrlKey: false, altKey: false, metaKey: false, ...held });

/** What comes of keys that go down and up: `['PageDown', 'down', ms]`. */
function said(keys, clicker = new Clicker()) {
  return keys.map(([key, what, ms]) => (what === 'up' ? clicker.up({ key }, ms) : clicker.down(event(key, what === 'repeat'), ms)))
    .filter((click) => click !== null);
}

/** A key that is held, repeated as systems do: after half a second, thirty times a second. */
function held(key, ms) {
  const keys = [[key, 'down', 1000]];
  for (let at = 500; at < ms; at += 33) keys.push([key, 'repeat', 1000 + at]);
  return [...keys, [key, 'up', 1000 + ms]];
}

test('each key that means next is short where it is let go at once', () => {
  for (const key of ['PageDown', 'ArrowDown', 'ArrowRight']) {
    assert.deepEqual(said(held(key, 5)), ['short']);
    assert.deepEqual(said(held(key, LONG_MS - 50)), ['short']);
  }
});

test('no other key is, not back, and none of those that clickers send by mistake', () => {
  for (const key of ['PageUp', 'ArrowUp', 'ArrowLeft', 'b', '.', 'F5', 'Escape', 'Enter', ' ', 'Tab']) {
    assert.deepEqual(said(held(key, 5)), []);
    assert.deepEqual(said(held(key, 3000)), []);
  }
  for (const key of ['PageDown', 'ArrowDown', 'ArrowRight']) assert.equal(asksAgain(event(key)), false);
});

test('a key that is held is long once, while it is still held', () => {
  const keys = held('PageDown', 5000);
  assert.deepEqual(said(keys), ['long']);
  const first = keys.findIndex((_, i) => said(keys.slice(0, i + 1)).length > 0);
  assert.ok(keys[first][2] - 1000 < LONG_MS + 40, 'it does not wait for the end');
});

test('where nothing repeats, letting go is the long press', () => {
  assert.deepEqual(said([['PageDown', 'down', 0], ['PageDown', 'up', LONG_MS]]), ['long']);
});

test('a press whose end was lost is none, and the next is a press of its own', () => {
  const clicker = new Clicker();
  assert.deepEqual(said([['PageDown', 'down', 0]], clicker), []);
  clicker.away();
  assert.deepEqual(said([['PageDown', 'repeat', 5000], ['PageDown', 'up', 6000]], clicker), []);
  assert.deepEqual(said([['PageDown', 'down', 7000], ['PageDown', 'down', 9000], ['PageDown', 'up', 9010]], clicker), ['short']);
});

test('another key in between takes the press away', () => {
  assert.deepEqual(said([['PageDown', 'down', 0], ['b', 'down', 100], ['PageDown', 'up', 900], ['b', 'up', 950]]), []);
});

test('with a key that makes it a command of the browser it is none', () => {
  const clicker = new Clicker();
  for (const key of ['ctrlKey', 'altKey', 'metaKey']) {
    assert.equal(clicker.down(event('ArrowRight', false, { [key]: true }), 0), null);
    assert.equal(clicker.up({ key: 'ArrowRight' }, 10), null);
  }
});

test('a press is kept for a line that broke, and not for long', () => {
  const last = new LastClick();
  assert.equal(last.still(0), null);
  const message = { type: 'click', id: 'a', click: 'long' };
  last.keep(message, 1000);
  assert.equal(last.still(3900), message);
  assert.equal(last.still(4100), null);
});
