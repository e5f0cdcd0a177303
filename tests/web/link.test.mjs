// The link's decisions, what goes into the buffer, and the remote's delay:
// web/live/wants.js, feed.js, delay.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { buildCheck, delayNeedsWant, dryNeedsWant, reportIsDue, retryAfterMs, wantAtOpening } from '../../web/live/wants.js';
import { Feed } from '../../web/live/feed.js';
import { readSegment } from '../../web/live/boxes.js';
import { Wanted, problemText, readSeconds, stepped } from '../../web/live/delay.js';
import { fragment, init } from './segments.mjs';

const S = 1e6;
const buffer = [{ startUs: 10 * S, endUs: 15 * S }];

test('a link that opens asks from the buffer end while that is good, else for what is due', () => {
  assert.equal(wantAtOpening([], null, null), null);
  assert.equal(wantAtOpening(buffer, 14.5 * S, 15 * S), 15 * S);
  assert.equal(wantAtOpening(buffer, 16 * S, 15 * S), null);
  assert.equal(wantAtOpening(buffer, 14.5 * S, 25 * S), null);
});

test('a new delay asks only for what the buffer lacks', () => {
  assert.equal(delayNeedsWant(buffer, 12 * S), false);
  assert.equal(delayNeedsWant(buffer, 9 * S), true);
  assert.equal(delayNeedsWant(buffer, 14.95 * S), true);
});

test('a dry buffer asks again after a second, if there is something, and not in haste', () => {
  const f = { nowUs: 100 * S, dueUs: 20 * S, ranges: buffer, oldestUs: 5 * S, newestUs: 25 * S, fedUs: 98 * S, askedUs: 90 * S };
  assert.equal(dryNeedsWant(f), true);
  assert.equal(dryNeedsWant({ ...f, fedUs: 99.5 * S }), false);
  assert.equal(dryNeedsWant({ ...f, askedUs: 99 * S }), false);
  assert.equal(dryNeedsWant({ ...f, newestUs: 19 * S }), false);
  assert.equal(dryNeedsWant({ ...f, oldestUs: 22 * S }), false);
  assert.equal(dryNeedsWant({ ...f, dueUs: 14 * S }), false);
});

test('reports go four times a second and after a burst', () => {
  assert.equal(reportIsDue(100000, { atUs: 0, endUs: 5 * S }, 5.1 * S), false);
  assert.equal(reportIsDue(100000, { atUs: 0, endUs: 5 * S }, 5.4 * S), true);
  assert.equal(reportIsDue(250000, { atUs: 0, endUs: 5 * S }, 5 * S), true);
});

test('tries come slower, up to two seconds', () => {
  assert.deepEqual([1, 2, 3, 4, 5, 50].map(retryAfterMs), [200, 400, 800, 1600, 2000, 2000]);
});

test('another build reloads the page, once', () => {
  const page = { protocol: 1, build: 'a' };
  assert.equal(buildCheck({ protocol: 1, build: 'a' }, page, null), 'go on');
  assert.equal(buildCheck({ protocol: 1, build: 'b' }, page, null), 'reload');
  assert.equal(buildCheck({ protocol: 1, build: 'b' }, page, 'b'), 'go on');
  assert.equal(buildCheck({ protocol: 2, build: 'b' }, page, 'b'), 'misfit');
  assert.equal(buildCheck({ protocol: 1, build: 'c' }, page, 'b'), 'reload');
});

/** Pictures 0..n as our server would send them, a keyframe every five. */
function picture(n) {
  return fragment({ number: n >>> 0, captureUs: 50 * S + n * 40000, durationUs: 40000, keyframe: n % 5 === 0 });
}

function feedOf(feed, n, held = () => false) {
  const bytes = picture(n);
  return feed.fragment(bytes, readSegment(bytes), held).length;
}

test('a run begins with its initialisation segment and a keyframe', () => {
  const feed = new Feed();
  assert.equal(feedOf(feed, 0), 0, 'nothing before a run');
  feed.run('a');
  feed.initSegment(init());
  assert.equal(feedOf(feed, 4), 0, 'not from the middle');
  assert.equal(feedOf(feed, 5), 2);
  assert.equal(feedOf(feed, 6), 1);
  assert.equal(feedOf(feed, 8), 0, 'not over a gap');
  assert.equal(feedOf(feed, 10), 1, 'but from the next keyframe');
});

test('after a break what is held is left out, and the first new picture carries on', () => {
  const feed = new Feed();
  feed.run('a');
  feed.initSegment(init());
  for (let n = 0; n <= 8; n += 1) feedOf(feed, n);
  assert.equal(feed.run('a'), false);
  feed.initSegment(init());
  const held = (us) => us < 50 * S + 9 * 40000;
  assert.deepEqual([5, 6, 7, 8, 9, 10].map((n) => feedOf(feed, n, held)), [0, 0, 0, 0, 1, 1]);
});

test('a run with other parameter sets, or back to earlier pictures, begins anew', () => {
  const feed = new Feed();
  feed.run('a');
  feed.initSegment(init());
  for (let n = 10; n <= 13; n += 1) feedOf(feed, n);
  feed.run('a');
  feed.initSegment(init(7));
  assert.equal(feedOf(feed, 15), 2, 'other parameter sets');
  feed.run('a');
  feed.initSegment(init(7));
  assert.equal(feedOf(feed, 5, () => false), 2, 'earlier pictures');
});

test('old pictures are removed up to a keyframe and never the last one', () => {
  const feed = new Feed();
  feed.run('a');
  feed.initSegment(init());
  for (let n = 0; n <= 12; n += 1) feedOf(feed, n);
  assert.equal(feed.removableTo(50 * S + 4 * 40000), null);
  assert.equal(feed.removableTo(50 * S + 9 * 40000), 50 * S + 5 * 40000);
});

test('after a wipe nothing is taken before the next run', () => {
  const feed = new Feed();
  feed.run('a');
  feed.initSegment(init());
  feedOf(feed, 0);
  feed.reset();
  assert.equal(feedOf(feed, 5), 0);
});

const limits = { delay_step_ms: 500, delay_most_ms: 28000 };

test('typed seconds are read with a point or a comma, and refused with the reason', () => {
  assert.deepEqual(readSeconds(' 7.5 ', limits), { ms: 7500 });
  assert.deepEqual(readSeconds('7,5', limits), { ms: 7500 });
  assert.deepEqual(readSeconds('0', limits), { ms: 0 });
  assert.deepEqual(readSeconds('7.3', limits), { wrong: 'step' });
  for (const typed of ['', 'ten', '-1', '28.5', '1e1', '1.2.3']) {
    assert.deepEqual(readSeconds(typed, limits), { wrong: 'number' }, typed);
  }
});

test('steps stay within the limits', () => {
  assert.equal(stepped(0, -1, limits), 0);
  assert.equal(stepped(28000, 1, limits), 28000);
  assert.equal(stepped(5000, 1, limits), 5500);
});

test('presses while one is under way go out as one, and the box has the last word', () => {
  const w = new Wanted();
  w.heard(5000);
  w.press(5500);
  assert.equal(w.send(), 5500);
  w.press(6000);
  w.press(6500);
  assert.equal(w.send(), null);
  w.heard(5000);
  assert.equal(w.shown, 6500, 'a press is not undone by an old answer');
  assert.equal(w.taken(), false);
  assert.equal(w.send(), 6500);
  assert.equal(w.taken(), true);
  assert.equal(w.shown, 6500);
  w.press(7000);
  w.send();
  w.failed();
  assert.equal(w.shown, 6500, 'back to the truth');
});

test('a problem answer says its sentence', () => {
  // RFC 9457 §3.1: detail is "a human-readable explanation specific to this occurrence".
  assert.equal(problemText({ type: 'about:blank', title: 'No', status: 422, detail: 'Too much.' }), 'Too much.');
  assert.equal(problemText({ title: 'No' }), 'No');
  assert.equal(problemText(null), '');
});
