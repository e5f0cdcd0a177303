// A unit while it is being changed: nothing typed is lost, everything can be taken back, and a clash shows what differs.
import test from 'node:test';
import assert from 'node:assert/strict';
import { fileName } from '../../web/live/unit-new.js';
import { Draft, applyTo, differences, nearestField, valueAt } from '../../web/live/unit-draft.js';

const unit = () => ({
  languages: ['en'],
  title: 'Small',
  station: [
    { id: 'beam', title: { en: 'Beam', es: 'Barra' }, reminders: [{ en: 'Wait' }, { en: 'Walk' }], cue: [{ id: 'eyes', text: 'Look' }], band: [{ grades: 'K' }] },
    { id: 'roll', title: 'Roll', cue: [{ id: 'chin', text: 'Chin' }] },
  ],
});

test('a change is made in the copy and never in what it began from', () => {
  const base = unit();
  const draft = new Draft('v1', base);
  assert.equal(draft.dirty, false);
  assert.ok(draft.make({ set: { at: ['station', 'beam', 'title', 'en'], to: 'Low beam' } }));
  assert.ok(draft.make({ set: { at: ['station', 'beam', 'reminders', '#1', 'en'], to: 'Run' } }));
  assert.equal(draft.document.station[0].title.en, 'Low beam');
  assert.equal(draft.document.station[0].reminders[1].en, 'Run');
  assert.deepEqual(base, unit());
  assert.equal(draft.edits.length, 2);
});

test('typing on in a field is one change, and undo takes back whole changes', () => {
  const draft = new Draft('v1', unit());
  const at = ['station', 'roll', 'title'];
  for (const to of ['R', 'Ro', 'Rol']) draft.make({ set: { at, to } });
  draft.make({ set: { at: ['title'], to: 'Smaller' } });
  draft.make({ set: { at, to: 'Rock' } });
  assert.deepEqual(draft.edits.map((edit) => edit.set.to), ['Rol', 'Smaller', 'Rock']);
  assert.ok(draft.undo());
  assert.equal(draft.document.station[1].title, 'Rol');
  assert.ok(draft.undo());
  assert.ok(draft.undo());
  assert.deepEqual(draft.document, unit());
  assert.equal(draft.undo(), false);
});

test('rows: one comes, goes, moves, and can be changed before it has an id', () => {
  const draft = new Draft('v1', unit());
  assert.ok(draft.make({ add: { to: ['station', 'roll', 'cue'], value: { text: '' }, before: 'chin' } }));
  assert.ok(draft.make({ set: { at: ['station', 'roll', 'cue', '#0', 'text'], to: 'Round back' } }));
  assert.deepEqual(draft.document.station[1].cue.map((cue) => cue.text), ['Round back', 'Chin']);
  assert.ok(draft.make({ move: { at: ['station', 'roll'], before: 'beam' } }));
  assert.deepEqual(draft.document.station.map((one) => one.id), ['roll', 'beam']);
  assert.ok(draft.make({ move: { at: ['station', 'roll'] } }));
  assert.ok(draft.make({ add: { to: ['station', 'roll', 'level'], value: { title: 'Log' } } }));
  assert.ok(draft.make({ remove: { at: ['station', 'beam', 'band', '#0'] } }));
  assert.equal('band' in draft.document.station[0], false, 'an empty row is none');
  assert.ok(draft.make({ set: { at: ['station', 'roll', 'title', 'en'], to: 'Rolls' } }));
  assert.equal(draft.document.station[1].title, 'Rolls', 'a text in one language stays plain');
});

test('what cannot be made is refused and changes nothing', () => {
  for (const edit of [
    { set: { at: ['station', 'none', 'title'], to: 'x' } },
    { set: { at: ['station', 'beam', 'reminders', '#7'], to: 'x' } },
    { remove: { at: ['station', 'none'] } },
    { move: { at: ['station', 'beam'], before: 'none' } },
    { add: { to: ['station', 'beam', 'cue'], value: {}, before: 'none' } },
    { add: { to: ['title', 'cue'], value: {} } },
  ]) {
    const draft = new Draft('v1', unit());
    assert.equal(draft.make(edit), false, JSON.stringify(edit));
    assert.deepEqual(draft.document, unit());
    assert.equal(draft.dirty, false);
  }
});

test('changes are put onto another version, and what no longer fits is told', () => {
  const draft = new Draft('v1', unit());
  draft.make({ set: { at: ['station', 'roll', 'title'], to: 'Rolls' } });
  draft.make({ set: { at: ['station', 'beam', 'title', 'en'], to: 'Low beam' } });
  const theirs = unit();
  theirs.title = 'Theirs';
  theirs.station.shift();
  const next = draft.onto('v2', theirs);
  assert.equal(next.version, 'v2');
  assert.equal(next.document.title, 'Theirs');
  assert.equal(next.document.station[0].title, 'Rolls');
  assert.equal(next.lost.length, 1);
  assert.equal(next.edits.length, 1);
});

test('what two versions say differently is named place by place', () => {
  const ours = unit();
  const theirs = unit();
  theirs.station[0].title.en = 'Bar';
  theirs.station[1].hold_s = 3;
  assert.deepEqual(differences(ours, theirs), [
    { at: ['station', 'beam', 'title', 'en'], ours: 'Beam', theirs: 'Bar' },
    { at: ['station', 'roll', 'hold_s'], ours: undefined, theirs: 3 },
  ]);
  theirs.station.pop();
  assert.equal(differences(ours, theirs)[0].at.join(), 'station');
  assert.deepEqual(differences(ours, unit()), []);
});

test('a mistake is shown at its field, or at the nearest there is', () => {
  const paths = [['title', 'en'], ['station', 'beam'], ['station', 'beam', 'title', 'en'], ['station', 'beam', 'title', 'es']];
  assert.equal(nearestField(['station', 'beam', 'title', 'en'], paths), 2);
  assert.equal(nearestField(['station', 'beam', 'title'], paths), 1);
  assert.equal(nearestField(['station', 'beam', 'lanes'], paths), 1);
  assert.equal(nearestField(['title'], paths), 0);
  assert.equal(nearestField(['grades'], paths), -1);
  assert.equal(applyTo({ a: 1 }, { set: { at: ['a'], to: null } }), true);
  assert.equal(valueAt({ a: null }, ['a', 'b']), undefined);
});

test('a language comes as a copy of each text, goes again, and is one step to undo', () => {
  const draft = new Draft('v1', { languages: ['en'], title: 'Small', station: [{ id: 'a', title: { en: 'Beam' }, reminders: ['Wait', { en: 'Walk' }], kit: [{ item: 'mat' }], cue: [{ id: 'c', text: { en: 'Look' } }] }] });
  assert.ok(draft.make({ add_language: { language: 'es' } }));
  assert.equal(draft.make({ add_language: { language: 'es' } }), false, 'not twice');
  const station = draft.document.station[0];
  assert.deepEqual(draft.document.languages, ['en', 'es']);
  assert.deepEqual(draft.document.title, { en: 'Small', es: 'Small' });
  assert.deepEqual([station.title, station.reminders, station.kit[0].item, station.cue[0].text], [
    { en: 'Beam', es: 'Beam' }, [{ en: 'Wait', es: 'Wait' }, { en: 'Walk', es: 'Walk' }], { en: 'mat', es: 'mat' }, { en: 'Look', es: 'Look' }]);
  assert.ok(draft.make({ remove_language: { language: 'en' } }));
  assert.deepEqual(draft.document.station[0].title, { es: 'Beam' });
  assert.equal(draft.make({ remove_language: { language: 'es' } }), false, 'one has to stay');
  assert.ok(draft.undo() && draft.undo());
  assert.equal(draft.document.title, 'Small');
});

test('a name becomes that of a file', () => {
  assert.equal(fileName('Otoño: el circuito 2026'), 'otono-el-circuito-2026');
  assert.equal(fileName('  3rd grade!  '), 'rd-grade');
  assert.equal(fileName('123 …'), '');
  assert.match(fileName('a'.repeat(90)), /^a{40}$/);
});
