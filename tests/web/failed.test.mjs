// What the remote says of a part of the program that failed.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { failedSaid } from '../../web/live/failed.js';

const words = (id, values) => `${id}${values && values.number ? ` ${values.number}` : ''}`;

test('a station that failed is named, and whether it runs again', () => {
  const failed = [
    { part: { name: 'station', number: 3 }, runs: true },
    { part: { name: 'class' }, runs: false },
  ];
  assert.deepEqual(failedSaid(failed, words), [
    'live-failed-station 3 live-failed-runs',
    'live-failed-class live-failed-waits',
  ]);
  assert.deepEqual(failedSaid([], words), []);
});

test('every part of the program has a sentence in both languages', () => {
  const wire = readFileSync(new URL('../../web/live/wire.d.ts', import.meta.url), 'utf8');
  const part = /\bPart = ([^;]+);/.exec(wire);
  const names = [...part[1].matchAll(/"name": "([a-z]+)"/g)].map((found) => found[1]);
  assert.ok(names.length >= 11, `${names}`);
  for (const language of ['en', 'es']) {
    const sentences = readFileSync(new URL(`../../web/words/${language}.ftl`, import.meta.url), 'utf8');
    for (const name of names) assert.match(sentences, new RegExp(`^live-failed-${name} = `, 'm'), `${language}: ${name}`);
  }
});
