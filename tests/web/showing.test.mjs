// What the remote's buttons ask for, and how they show what holds.
import test from 'node:test';
import assert from 'node:assert/strict';
import { isChosen, patchOf } from '../../web/live/showing.js';

const showing = {
  grade: 3, choice: 'by_grade', view: 'text', look: 'dark', languages: [{ station: 2, language: 'es' }], too_long: [],
};

test('a press asks for what the button says and nothing else', () => {
  assert.deepEqual(patchOf('grade', '3', 0), { grade: 3 });
  assert.deepEqual(patchOf('grade', '', 0), { grade: null });
  assert.deepEqual(patchOf('choice', 'picture', 0), { choice: 'picture' });
  assert.deepEqual(patchOf('look', 'bright', 0), { look: 'bright' });
  assert.deepEqual(patchOf('language', 'es', 4), { language: { station: 4, language: 'es' } });
  assert.deepEqual(patchOf('language', '', 4), { language: { station: 4, language: null } });
});

test('just one button of each row shows how things stand', () => {
  const rows = {
    grade: ['', '0', '1', '2', '3', '4', '5'], choice: ['by_grade', 'picture', 'text'], look: ['dark', 'bright'], language: ['', 'en', 'es'],
  };
  for (const [key, values] of Object.entries(rows)) {
    for (const station of [1, 2]) {
      const pressed = values.filter((value) => isChosen(key, value, station, showing));
      assert.equal(pressed.length, 1, `${key} of station ${station}: ${pressed}`);
    }
  }
  assert.ok(isChosen('grade', '', 0, { ...showing, grade: null }));
  assert.ok(isChosen('grade', '0', 0, { ...showing, grade: 0 }), 'kindergarten is not nothing');
  assert.ok(isChosen('language', 'es', 2, showing));
  assert.ok(isChosen('language', '', 1, showing));
});
