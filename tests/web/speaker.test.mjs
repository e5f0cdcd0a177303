// What a page makes of being the gym's speaker, and what its button says: web/live/speaker.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { modeOf, momentOf, saidBy, tones } from '../../web/live/speaker.js';

const sound = (change) => ({ applies: { clock: 'live' }, speaks: true, mode: 'rhythm', quiet: false, tracks: 0, listing: 0, tones: 0, ...change });

test('only the speaker plays, and nothing where it is to be quiet', () => {
  assert.equal(modeOf(null), 'quiet', 'nothing is known yet');
  for (const mode of ['rhythm', 'files', 'own']) {
    assert.equal(modeOf(sound({ mode })), mode);
    assert.equal(modeOf(sound({ mode, speaks: false })), 'quiet');
    assert.equal(modeOf(sound({ mode, quiet: true })), 'quiet');
  }
});

test('in a class the button is gone, unless a press is wanted for the sound', () => {
  const other = sound({ speaks: false });
  assert.equal(saidBy(other, false, true), 'live-sound-quiet', 'nothing is asked for where nothing is to sound');
  assert.equal(saidBy(other, true, true), '');
  assert.equal(saidBy(sound({}), true, false), '');
  assert.equal(saidBy(sound({}), true, true), 'live-sound-press');
  assert.equal(saidBy(sound({ quiet: true }), true, true), '', 'a quiet class asks for nothing');
  assert.equal(saidBy(sound({ mode: 'own' }), false, true), 'live-sound-press');
  assert.equal(saidBy(sound({ mode: 'own' }), false, false), 'live-sound-own');
  assert.equal(saidBy(null, false, true), '');
});

test('a test tone sounds once, at the speaker alone, and not for a page that has only now come', () => {
  assert.equal(tones(sound({}), sound({ tones: 1 }), false), true);
  assert.equal(tones(sound({ tones: 1 }), sound({ tones: 1 }), false), false);
  assert.equal(tones(null, sound({ tones: 5 }), false), false);
  assert.equal(tones(sound({}), sound({ tones: 1, speaks: false }), false), false);
  assert.equal(tones(sound({}), sound({ tones: 1, quiet: true }), false), false);
  assert.equal(tones(sound({ speaks: false }), sound({}), true), true, 'who pressed here hears it');
});

test('the signal is told where the class is', () => {
  const time = { phase: 'walk', turn: 3, turns: 8, ends_us: 1, left_ms: 1, whole_ms: 1, hold: 'freeze' };
  assert.deepEqual(momentOf(time), { turn: 3, phase: 'walk', hold: 'freeze' });
  assert.equal(momentOf(null), null);
});
