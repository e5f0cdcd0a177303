// What the gym should hear, moment by moment.

import assert from 'node:assert/strict';
import test from 'node:test';
import { chime, music } from '../../web/live/signal.js';

const at = (phase, hold = null, turn = 0) => ({ turn, phase, hold });
const PHASES = ['warm_up', 'briefing', 'work', 'last_turn', 'gather', 'walk', 'closing', 'done'];
const STOPS = ['pause', 'freeze', 'accident', 'leave', 'dark'];
const MODES = ['rhythm', 'files', 'own', 'quiet'];

test('music while working, quiet means gather', () => {
  for (const mode of ['rhythm', 'files']) {
    assert.deepEqual(PHASES.filter((phase) => music(at(phase), mode)), ['warm_up', 'work', 'last_turn']);
  }
  for (const phase of PHASES) {
    assert.equal(music(at(phase), 'own'), false);
    assert.equal(music(at(phase), 'quiet'), false);
  }
  assert.equal(music(null, 'rhythm'), false);
});

test('whatever stops the class stops the music', () => {
  for (const stop of STOPS) {
    for (const phase of PHASES) for (const mode of MODES) assert.equal(music(at(phase, stop), mode), false);
  }
});

test('the last turn is told once', () => {
  for (const mode of ['rhythm', 'files', 'own']) {
    assert.equal(chime(at('work'), at('last_turn'), mode), 'last_turn');
    assert.equal(chime(at('last_turn'), at('last_turn'), mode), null);
    // A page that comes back says nothing late.
    assert.equal(chime(null, at('last_turn'), mode), null);
    // Nor does it after a pause.
    assert.equal(chime(at('last_turn', 'pause'), at('last_turn'), mode), null);
  }
});

test('a sound for gathering only where our music cannot fall silent', () => {
  assert.equal(chime(at('last_turn'), at('gather'), 'rhythm'), null);
  assert.equal(chime(at('last_turn'), at('gather'), 'own'), 'gather');
});

test('freeze has its own; nothing else that stops makes a sound', () => {
  for (const phase of PHASES) {
    assert.equal(chime(at(phase), at(phase, 'freeze'), 'rhythm'), 'freeze');
    assert.equal(chime(at(phase, 'freeze'), at(phase, 'freeze'), 'rhythm'), null);
    for (const stop of STOPS.filter((one) => one !== 'freeze')) {
      assert.equal(chime(at(phase), at(phase, stop), 'own'), null);
    }
  }
});

test('quiet is quiet', () => {
  for (const before of PHASES) {
    for (const after of PHASES) {
      for (const stop of [null, ...STOPS]) assert.equal(chime(at(before), at(after, stop), 'quiet'), null);
    }
  }
});
