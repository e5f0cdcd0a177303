// What the remote says of the sound: web/live/sound-form.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { filesSaid, nameOf, standingSaid } from '../../web/live/sound-form.js';

const words = (id, values) => id + (values && Object.values(values).join() ? ' ' + Object.values(values).join() : '');
const hall = (id, speaks = false) => ({ id, speaks, place: { at: 'hall' } });
const tv = (id, station, speaks = false) => ({ id, speaks, place: { at: 'station', station } });
const info = (change) => ({ mode: 'rhythm', standing: 'nobody', folder: true, tracks: 2, broken: [], pages: [], ...change });

test('no sound is said plainly, and why', () => {
  assert.equal(standingSaid(info({}), words), 'live-hear-nobody');
  assert.equal(standingSaid(info({ standing: 'away' }), words), 'live-hear-away');
  assert.equal(standingSaid(info({ standing: 'waits', pages: [hall(1), tv(2, 4, true)] }), words), 'live-hear-waits live-hear-tv 4');
  assert.equal(standingSaid(info({ standing: 'plays', pages: [hall(1, true)] }), words), 'live-hear-plays live-hear-hall');
});

test('pages alike are told apart', () => {
  const pages = [hall(3), tv(4, 1), hall(9)];
  assert.deepEqual(pages.map((page) => nameOf(page, pages, words)), ['live-hear-hall (1)', 'live-hear-tv 1', 'live-hear-hall (2)']);
});

test('a file that is left out is named', () => {
  assert.equal(filesSaid(info({}), words), '');
  assert.equal(filesSaid(info({ folder: false, tracks: 0 }), words), 'live-hear-no-folder');
  assert.equal(filesSaid(info({ broken: ['a.mp3', 'b.ogg'] }), words), 'live-hear-broken a.mp3, b.ogg');
  assert.equal(filesSaid(info({ tracks: 0, broken: ['a.mp3'] }), words), 'live-hear-no-files live-hear-broken a.mp3');
});
