// Which screen is the gym's speaker, and what its button says: web/live/speaker.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { after, momentOf, readMode, saidBy } from '../../web/live/speaker.js';

test('the button goes round: quiet, music, signals only', () => {
  assert.deepEqual(['quiet', 'rhythm', 'own'].map(after), ['rhythm', 'own', 'quiet']);
});

test('what is kept and is not ours is quiet', () => {
  assert.deepEqual(['rhythm', 'own', 'quiet', 'loud', '', null].map(readMode), ['rhythm', 'own', 'quiet', 'quiet', 'quiet', 'quiet']);
});

test('in a class the button is gone, unless a press is wanted for the sound', () => {
  assert.equal(saidBy('quiet', false, true), 'live-sound-quiet', 'nothing is asked for where nothing is to sound');
  assert.equal(saidBy('quiet', true, true), '');
  assert.equal(saidBy('rhythm', true, false), '');
  assert.equal(saidBy('rhythm', true, true), 'live-sound-press');
  assert.equal(saidBy('own', false, true), 'live-sound-press');
  assert.equal(saidBy('own', false, false), 'live-sound-own');
});

test('the signal is told where the class is', () => {
  const time = { phase: 'walk', turn: 3, turns: 8, ends_us: 1, left_ms: 1, whole_ms: 1, hold: 'freeze' };
  assert.deepEqual(momentOf(time), { turn: 3, phase: 'walk', hold: 'freeze' });
  assert.equal(momentOf(null), null);
});
