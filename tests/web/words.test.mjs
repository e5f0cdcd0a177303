// Words: the two language files say the same things, and scripts and pages only ask for what is there.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { fill, seconds, wordsFrom } from '../../web/live/words.js';

const web = new URL('../../web/', import.meta.url);
const read = (path) => readFileSync(new URL(path, web), 'utf8');

/** Ids and their variables, in a file of plain Fluent messages. */
function messages(text) {
  const found = new Map();
  for (const line of text.split('\n')) {
    if (line === '' || line.startsWith('#')) continue;
    const match = /^([a-z][a-z0-9-]*) = (\S.*)$/.exec(line);
    assert.ok(match, 'not a plain message: ' + line);
    assert.ok(!found.has(match[1]), 'twice: ' + match[1]);
    found.set(match[1], { text: match[2], variables: [...match[2].matchAll(/\{ \$([a-z_]+) \}/g)].map((m) => m[1]).sort() });
  }
  return found;
}

const files = readdirSync(new URL('words/', web)).filter((f) => f.endsWith('.ftl'));
const all = new Map(files.map((f) => [f, messages(read('words/' + f) + read('words/vault/' + f))]));
const english = all.get('en.ftl');

test('every language has the same messages with the same variables', () => {
  assert.ok(files.length >= 2);
  for (const [file, words] of all) {
    assert.deepEqual([...words.keys()].sort(), [...english.keys()].sort(), file);
    for (const [id, { variables }] of words) assert.deepEqual(variables, english.get(id).variables, file + ' ' + id);
  }
});

test('scripts and pages ask only for messages there are, and every message is asked for', () => {
  const asked = new Set();
  for (const f of readdirSync(new URL('pages/', web))) {
    for (const m of read('pages/' + f).matchAll(/words\.get\("([a-z0-9-]+)"/g)) asked.add(m[1]);
  }
  for (const f of readdirSync(new URL('live/', web))) {
    for (const m of read('live/' + f).matchAll(/'(live-[a-z0-9-]*[a-z0-9])'/g)) asked.add(m[1]);
  }
  for (const id of read('figures/names.txt').trim().split('\n')) asked.add('live-figure-' + id);
  // What a handler says by its id.
  const roster = readdirSync(new URL('../../src/http/roster/', import.meta.url))
    .filter((f) => f.endsWith('.rs')).map((f) => `http/roster/${f}`);
  for (const f of ['http/pages.rs', 'http/doors.rs', 'http/trust.rs', 'portfolio/import/mod.rs', ...roster]) {
    const source = readFileSync(new URL(`../../src/${f}`, import.meta.url), 'utf8');
    for (const m of source.matchAll(/"([a-z]+(?:-[a-z0-9]+)+)"/g)) if (english.has(m[1])) asked.add(m[1]);
  }
  for (const [file, name] of [['publisher.js', 'Word'], ['lens.js', 'LensProblem']]) {
    const words = new RegExp(`@typedef \\{([^}]+)\\} ${name}\\b`).exec(read('live/' + file))[1];
    for (const m of words.matchAll(/'([a-z0-9-]+)'/g)) asked.add('live-publish-' + m[1]);
  }
  for (const kind of ['opening', 'link', 'covered', 'paused', 'tap', 'moment', 'filling', 'bars', 'between', 'quiet', 'freeze', 'accident', 'leave']) asked.add('live-card-' + kind);
  for (const mode of ['quiet', 'rhythm', 'own', 'files']) asked.add('live-sound-' + mode);
  for (const m of /CameraState = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-camera-' + m[1].replace(/_/g, '-'));
  }
  for (const m of /Phase = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    if (m[1] !== 'done') asked.add('live-phase-' + m[1].replace(/_/g, '-'));
  }
  for (const m of /Hold = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-press-' + m[1]);
    asked.add('live-resume-' + m[1]);
  }
  for (const m of /AnswerAfterRestart = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-answer-' + m[1].replace(/_/g, '-'));
  }
  for (const m of /Hold = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) asked.add('live-held-' + m[1]);
  for (const m of /NotKnown = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) asked.add('live-not-known-' + m[1]);
  for (const press of ['next', 'back', 'more', 'finish', 'end']) asked.add('live-press-' + press);
  for (const m of /Why = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-asks-' + m[1].replace(/_/g, '-'));
  }
  for (const state of ['sending', 'lost', 'refused']) asked.add('live-undone-' + state);
  for (const hands of ['close', 'floor']) asked.add('live-start-hands-' + hands);
  for (const m of /CameraNote = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"note": "([a-z0-9_]+)"/g)) {
    asked.add('live-note-' + m[1].replace(/_/g, '-'));
  }
  for (const m of /CalibrationRefusal = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-calibration-' + m[1].replace(/_/g, '-'));
  }
  for (const m of /SightTrouble = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-sight-' + m[1].replace(/_/g, '-'));
  }
  for (const m of /\bPart = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"name": "([a-z_]+)"/g)) {
    asked.add('live-failed-' + m[1]);
  }
  for (const what of ['again', 'held']) asked.add('live-again-' + what);
  for (const word of ['start', 'stop']) asked.add('live-calibration-' + word);
  for (const m of /\bOrder = ([^;]+);/.exec(read('live/wire.d.ts'))[1].matchAll(/"([a-z_]+)"/g)) {
    asked.add('live-order-' + m[1].replace(/_/g, '-'));
    asked.add('live-ordered-' + m[1].replace(/_/g, '-'));
  }
  // What is said of a unit file, by its id.
  for (const folder of ['../../src/units/', '../../src/settings/']) {
    for (const f of readdirSync(new URL(folder, import.meta.url), { recursive: true }).filter((name) => name.endsWith('.rs') && name !== 'sentence.rs')) {
      const source = readFileSync(new URL(folder + f, import.meta.url), 'utf8');
      for (const m of source.matchAll(/(?:Sentence::new|say!)\(\s*"([a-z-]+)"/g)) asked.add('live-check-' + m[1]);
      // What English says at more length: the id stands after it.
      for (const m of source.matchAll(/known_as\(\s*(?:format!\([^;]*?\)|[a-z_.()]+),\s*"([a-z-]+)"/g)) asked.add('live-check-' + m[1]);
      for (const m of source.matchAll(/"(no-[a-z]+-for)"/g)) asked.add('live-check-' + m[1]);
    }
  }
  assert.deepEqual([...asked].filter((id) => !english.has(id)), []);
  assert.deepEqual([...english.keys()].filter((id) => !asked.has(id)), []);
});

test('variables are filled in, with or without the marks Fluent sets round them', () => {
  assert.equal(fill('{seconds} s late', { seconds: 10 }), '10 s late');
  assert.equal(fill('\u2068{seconds}\u2069 s', { seconds: '7.5' }), '7.5 s');
  assert.equal(fill('{other}', { seconds: 1 }), '{other}');
});

test('a message that is missing shows its id, damaged words do not stop the page', () => {
  assert.equal(wordsFrom('{"a":"b"}')('live-x'), 'live-x');
  const say = console.error;
  console.error = () => {};
  try {
    assert.equal(wordsFrom('{')('live-x'), 'live-x');
  } finally {
    console.error = say;
  }
});

test('seconds are written as the language writes them', () => {
  assert.equal(seconds(7500, 'en'), '7.5');
  assert.equal(seconds(10000, 'es'), '10');
  assert.equal(seconds(7500, 'es'), '7.5');
});
