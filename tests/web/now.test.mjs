// The small picture of a station on the remote: web/live/now.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { GONE_MS, Now } from '../../web/live/now.js';

const picture = (tag) => ({ status: 200, tag });
const same = { status: 304, tag: null };
const nothing = { status: 204, tag: null };

/** One whole question. */
function once(now, answer, ms) {
  assert.equal(now.tick(true, ms), 'ask');
  return now.answered(now.asked(ms), answer);
}

test('it asks only while somebody looks, and one question at a time', () => {
  const now = new Now();
  assert.equal(now.tick(false, 0), 'clear');
  assert.equal(now.tick(true, 200), 'ask');
  const looks = now.asked(200);
  assert.equal(now.tick(true, 400), null);
  assert.equal(now.answered(looks, picture('"1"')), 'show');
  assert.equal(now.tick(true, 600), 'ask');
  assert.equal(now.tick(false, 800), 'clear');
});

test('the same picture stays, another is shown, and what is hidden is gone at once', () => {
  const now = new Now();
  assert.equal(once(now, picture('"1"'), 0), 'show');
  for (let ms = 200; ms < 2000; ms += 200) assert.equal(once(now, same, ms), 'keep');
  assert.equal(now.tag, '"1"');
  assert.equal(once(now, picture('"2"'), 2000), 'show');
  assert.equal(once(now, nothing, 2200), 'clear');
  assert.equal(now.tag, '', 'and is not asked for as if it were there');
});

test('whoever is not let in any more sees nothing', () => {
  for (const status of [401, 403, 404, 500]) {
    const now = new Now();
    once(now, picture('"1"'), 0);
    assert.equal(once(now, { status, tag: null }, 200), 'clear');
  }
});

test('a picture nobody vouches for goes, by the time of the question', () => {
  const now = new Now();
  once(now, picture('"1"'), 0);
  const looks = now.asked(200);
  assert.equal(now.tick(true, GONE_MS), null);
  assert.equal(now.tick(true, GONE_MS + 1), 'clear');
  assert.equal(now.answered(looks, same), 'clear', 'what was old when it came is not there any more');
  assert.equal(now.tick(true, GONE_MS + 200), 'ask');
  assert.equal(now.answered(now.asked(GONE_MS + 200), null), 'keep');
});

test('an answer from before somebody looked away is nobody\'s', () => {
  const now = new Now();
  now.tick(true, 0);
  const looks = now.asked(0);
  assert.equal(now.tick(false, 100), 'clear');
  assert.equal(now.tick(true, 200), null);
  assert.equal(now.answered(looks, picture('"1"')), 'keep');
  assert.equal(now.tag, '');
  assert.equal(now.tick(true, 300), 'ask');
});
