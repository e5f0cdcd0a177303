// Presses on their way to the box: web/live/presses.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { Presses, SLOW_MS } from '../../web/live/presses.js';

/** A box that answers as it is told, each time anew. */
function box(...answers) {
  const sent = [];
  let now = 0;
  const send = (url, body) => {
    sent.push([url, body]);
    const answer = answers.shift();
    return answer === undefined ? Promise.reject(new Error('no answer')) : Promise.resolve(answer);
  };
  const presses = new Presses(send, (body) => (body ? body.detail : ''), () => now, () => {});
  return { sent, presses, pass: (ms) => { now += ms; } };
}

const ok = (body = {}) => ({ ok: true, status: 200, body });
const states = (presses) => presses.said().map((row) => [row.label, row.state, row.detail]);

test('what is done is done once and says nothing more', async () => {
  const { sent, presses } = box(ok({ already: false }));
  const heard = [];
  await presses.press('/p', { id: 'a' }, 'Next', (body) => heard.push(body));
  assert.deepEqual([sent.length, heard, states(presses)], [1, [{ already: false }], []]);
});

test('a press whose answer is lost is sent once more, with the same id', async () => {
  const { sent, presses } = box(undefined, ok());
  await presses.press('/p', { id: 'a' }, 'Next', () => {});
  assert.deepEqual(sent, [['/p', { id: 'a' }], ['/p', { id: 'a' }]]);
  assert.deepEqual(states(presses), []);
});

test('no press is lost silently: it stands there until somebody decides', async () => {
  const { sent, presses } = box(undefined, undefined, undefined, undefined, ok());
  let done = 0;
  await presses.press('/p', { id: 'a' }, 'Freeze', () => { done += 1; });
  assert.deepEqual(states(presses), [['Freeze', 'lost', '']]);
  await presses.again(presses.rows[0].key);
  assert.deepEqual(states(presses), [['Freeze', 'lost', '']], 'still away');
  await presses.again(presses.rows[0].key);
  assert.deepEqual([done, states(presses), sent.length], [1, [], 5]);
  assert.deepEqual(new Set(sent.map(([, body]) => body.id)), new Set(['a']), 'one press all along');
});

test('a press that is let be is gone', async () => {
  const { presses } = box();
  await presses.press('/p', {}, 'Freeze', () => assert.fail('it was not done'));
  presses.letBe(presses.rows[0].key);
  assert.deepEqual(states(presses), []);
});

test('pressed anew and done, the one before is not wanted any more', async () => {
  const { presses } = box(undefined, undefined, ok());
  await presses.press('/p', { id: 'a' }, 'Freeze', () => {});
  await presses.press('/p', { id: 'b' }, 'Freeze', () => {});
  assert.deepEqual(states(presses), []);
});

test('a refusal is said with its reason', async () => {
  const { sent, presses } = box({ ok: false, status: 403, body: { detail: 'only the teacher' } });
  await presses.press('/p', {}, 'Back', () => assert.fail('it was not done'));
  assert.deepEqual([states(presses), sent.length], [[['Back', 'refused', 'only the teacher']], 1]);
});

test('a press that takes its time says so', () => {
  const { presses, pass } = box();
  presses.sendOne = () => new Promise(() => {});
  presses.press('/p', {}, 'Next', () => {});
  assert.deepEqual(states(presses), []);
  pass(SLOW_MS);
  assert.deepEqual(states(presses), [['Next', 'sending', '']]);
});
