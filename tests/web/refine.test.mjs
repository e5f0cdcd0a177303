// The refinement of the day and the quiet class: on screens and in what is sent.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { figures } from '../../web/figures/all.js';
import { cardFigure, isSilent } from '../../web/live/card.js';
import { boardOf } from '../../web/live/hall-board.js';
import { sceneOf } from '../../web/live/phase.js';
import { NAMES, refinementOf, REFINEMENTS } from '../../web/live/refine.js';
import { hereLine, quietOffer } from '../../web/live/station-card.js';

const PHASES = ['warm_up', 'briefing', 'work', 'last_turn', 'gather', 'walk', 'closing'];
const mark = (number) => ({ number, shape: 'disc', colour: 'blue', outline: '' });
const time = (phase) => ({ phase, turn: 1, turns: 2, ends_us: 1, left_ms: 1, whole_ms: 1, hold: null });
const sheet = { mark: mark(1), view: 'text', stations: [mark(1)], groups: [mark(1)], task: null };
const screen = (phase, change) => ({ time: time(phase), closed: false, floor: false, groups: [], coming: [], stay: null, refine: 'hold_still', ...change });
const shown = ['stick-landing', 'live-refine-hold-still'];

test('each is one the box knows, with a figure there is', () => {
  const wire = /Refinement = ([^;]+);/.exec(readFileSync(new URL('../../web/live/wire.d.ts', import.meta.url), 'utf8'));
  assert.deepEqual([...wire[1].matchAll(/"([a-z_]+)"/g)].map((m) => m[1]).sort(), [...NAMES].sort());
  for (const name of NAMES) assert.ok(figures[REFINEMENTS[name][0]], name);
  assert.equal(refinementOf('fly'), null);
});

test('a station says it when the cameras are explained and at the stretch', () => {
  assert.deepEqual(PHASES.filter((phase) => sceneOf(screen(phase), sheet).today), ['briefing', 'closing']);
  assert.deepEqual(sceneOf(screen('closing'), sheet).today, shown);
  assert.equal(sceneOf(screen('closing', { refine: null }), sheet).today, null);
});

test('the board of the hall says it before the first turn and at the stretch', () => {
  const hall = (phase) => ({ time: time(phase), stations: [], groups: [], view: 'text', look: 'dark', refine: 'hold_still' });
  assert.deepEqual(PHASES.filter((phase) => boardOf(hall(phase)).today), ['warm_up', 'briefing', 'closing']);
});

test('at a quiet station the cue stands for the picture and nothing says why', () => {
  const cue = { text: 'Look up', figure: 'stand', picture: null };
  assert.equal(cardFigure('quiet', cue), cue);
  assert.equal(isSilent('quiet', cue), true);
  assert.equal(isSilent('quiet', null), false, 'without a figure a few words do');
});

test('a card turns its station quiet and back, unless the whole class is', () => {
  const words = (id) => id;
  const station = (quiet) => ({ number: 2, setup: '', closed: false, in_circuit: true, floor: false, quiet });
  const info = (all, own) => ({ class: { quiet: all, groups: [], stations: [station(own)] } });
  assert.deepEqual(quietOffer(info(false, false), 2).map((o) => o.change), [{ change: 'station_quiet', station: 2, on: true }]);
  assert.deepEqual(quietOffer(info(false, true), 2).map((o) => o.change.on), [false]);
  assert.deepEqual(quietOffer(info(true, true), 2), []);
  assert.deepEqual(quietOffer({ class: null }, 2), []);
  assert.equal(hereLine(info(false, true), 2, words), 'live-station-empty · live-station-quiet');
});
