// The outline of the mat, and what has to be held.
import test from 'node:test';
import assert from 'node:assert/strict';
import { LOOKS, Looks, fromText, lines, sizeFor, toText } from '../../web/live/outline.js';
import { HOLD_MS, Hold } from '../../web/live/hold.js';
import { problemOf, wish } from '../../web/live/lens.js';

const [width, height] = [160, 90];

/** A dark hall with a light mat, and perhaps somebody on it. */
function room(child) {
  const grey = new Uint8Array(width * height).fill(60);
  for (let y = 50; y < 80; y += 1) grey.fill(180, y * width + 30, y * width + 130);
  if (child !== null) for (let y = 30; y < 60; y += 1) grey.fill(230, y * width + child, y * width + child + 8);
  return grey;
}

test('the mat leaves its edge and children leave nothing', () => {
  const looks = new Looks();
  let lasting = null;
  for (let i = 0; i < LOOKS; i += 1) {
    assert.equal(lasting, null);
    lasting = looks.add(lines(room(10 + i * 12), width, height), width);
  }
  const at = (x, y) => lasting[y * width + x];
  assert.ok(at(80, 79) || at(80, 80), 'its lower edge');
  assert.ok(at(30, 70) || at(29, 70), 'its left edge');
  for (let x = 5; x < 155; x += 1) for (let y = 28; y < 45; y += 1) assert.equal(at(x, y), 0, `${x},${y}`);
  assert.equal(looks.add(lines(room(null), width, height), width), null, 'and it begins anew');
});

test('an outline is lines alone: even ground, however bright, leaves none', () => {
  for (const bright of [0, 128, 255]) {
    const found = lines(new Uint8Array(width * height).fill(bright), width, height);
    assert.equal(found.reduce((a, b) => a + b, 0), 0);
  }
});

test('what is kept comes back, and no other text is taken', () => {
  const found = lines(room(null), width, height);
  const back = fromText(toText(found, width));
  assert.deepEqual([back.width, back.height], [width, height]);
  assert.deepEqual(back.found, found);
  for (const text of [null, '', '160:', 'x', '160:zz', '0:ff', '999:ff', '160:' + 'f'.repeat(40000), '<b>']) {
    assert.equal(fromText(text), null, String(text).slice(0, 20));
  }
});

test('held sideways an outline has another shape', () => {
  assert.deepEqual(sizeFor(1280, 720), { width: 160, height: 90 });
  assert.deepEqual(sizeFor(720, 1280), { width: 90, height: 160 });
  assert.deepEqual(sizeFor(0, 0), { width: 3, height: 3 });
});

test('three seconds unbroken, and not less', () => {
  const hold = new Hold();
  assert.equal(hold.share(5000), 0);
  hold.down(1000);
  hold.down(3000);
  assert.ok(hold.share(1000 + HOLD_MS - 1) < 1);
  hold.up();
  assert.equal(hold.share(1000 + HOLD_MS), 0);
  hold.down(10000);
  assert.equal(hold.share(10000 + HOLD_MS), 1);
});

test('a microphone is never asked for', () => {
  for (const lens of [null, 'abc']) {
    assert.equal(wish(lens).audio, false);
    assert.ok(wish(lens).video);
  }
  assert.equal(problemOf(Object.assign(new Error(''), { name: 'NotAllowedError' })), 'denied');
  assert.equal(problemOf(Object.assign(new Error(''), { name: 'NotReadableError' })), 'no-camera');
  assert.equal(problemOf('x'), 'no-camera');
});
