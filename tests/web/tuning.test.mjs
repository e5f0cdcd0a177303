// What the remote says of what a class has otherwise: web/live/tuning.js.
import test from 'node:test';
import assert from 'node:assert/strict';
import { answersTo, askOf, cueButtons, cuesAt, delaySet, inOf, mayOffer, offerSaid } from '../../web/live/tuning.js';

const both = (en, es) => ({ en, es });
const words = (id, values = {}) => [id, ...Object.values(values)].join(' ');
const AT = {
  station: 1,
  cues: [{ id: 'eyes', text: both('Eyes ahead', 'Mira adelante') }, { id: 'arms', text: both('Arms wide', 'Abre los brazos') }],
  planned: 'eyes',
  pinned: null,
};
const info = (klass, asks = null) => ({ now_us: 0, class: klass, asks, demo: false });
const OFFER = {
  class: '3B', station: 1, title: both('Beam', 'Barra'), otherwise: { what: 'delay', delay_ms: 12000, planned_ms: 9500 }, version: 'abc', for_everybody: true,
};

test('cues are chosen for a class, in the language of the page', () => {
  const showing = { cues: [AT] };
  assert.equal(cuesAt(null, info({}), 1), null);
  assert.equal(cuesAt(showing, info(null), 1), null, 'without a class there is nobody to choose for');
  assert.equal(cuesAt(showing, info({}), 2), null);
  assert.equal(cuesAt(showing, info({}), 1), AT);
  assert.deepEqual(cueButtons(AT, 'es', words), [
    { cue: null, label: 'live-cue-planned Mira adelante', chosen: true },
    { cue: 'eyes', label: 'Mira adelante', chosen: false },
    { cue: 'arms', label: 'Abre los brazos', chosen: false },
  ]);
  const pinned = cueButtons(Object.assign({}, AT, { pinned: 'arms' }), 'en', words);
  assert.deepEqual(pinned.map((one) => one.chosen), [false, false, true]);
});

test('a delay is said to be the class\'s where one runs', () => {
  assert.equal(delaySet(info({ title: '3B', demo: false }), 7500, 'en', words), 'live-remote-set-class 3B 7.5');
  for (const none of [null, info(null), info({ title: '', demo: true })]) {
    assert.equal(delaySet(none, 7500, 'en', words), 'live-remote-set 7.5');
  }
});

test('what a class had otherwise is said beside what is planned', () => {
  assert.equal(offerSaid(OFFER, 'en', words), 'live-kept-delay 12 9.5');
  const cue = Object.assign({}, OFFER, { otherwise: { what: 'cue', cue: both('Arms wide', 'Abre los brazos'), planned: both('Eyes ahead', 'Mira adelante') } });
  assert.equal(offerSaid(cue, 'es', words), 'live-kept-cue Abre los brazos Mira adelante');
  assert.equal(inOf(OFFER.title, 'en'), 'Beam');
});

test('an answer names the version that was seen, if a file is to be changed', () => {
  assert.deepEqual(answersTo(OFFER), ['everybody', 'class', 'nobody']);
  assert.deepEqual(answersTo(Object.assign({}, OFFER, { for_everybody: false })), ['class', 'nobody']);
  assert.deepEqual(askOf(OFFER, 'everybody'), { class: '3B', station: 1, what: 'delay', keep: 'everybody', version: 'abc' });
  assert.deepEqual(askOf(Object.assign({}, OFFER, { version: null }), 'class'), { class: '3B', station: 1, what: 'delay', keep: 'class' });
});

test('nothing is asked while a class runs or might', () => {
  assert.equal(mayOffer(info(null)), true);
  assert.equal(mayOffer(info({ demo: true })), true);
  assert.equal(mayOffer(info({ demo: false })), false);
  assert.equal(mayOffer(info(null, {})), false);
});
