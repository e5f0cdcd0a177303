// Why a camera gives no picture: each word of the server's has its sentence.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { noPicture } from '../../web/live/no-picture.js';

const words = (id) => id;

test('every word the server may say has a sentence of its own', () => {
  const pages = readFileSync(new URL('../../src/http/pages.rs', import.meta.url), 'utf8');
  const ids = [...pages.matchAll(/Why::[A-Za-z| :]+ => "(live-no-picture-([a-z-]+))"/g)];
  assert.ok(ids.length >= 8, `${ids.length} found`);
  for (const [, id, why] of ids) assert.equal(noPicture({ status: 422, why }, words), id);
  for (const why of ['in-use', 'off', 'class']) assert.equal(noPicture({ status: 422, why }, words), `live-no-picture-${why}`);
});

test('a camera that has gone meanwhile was unplugged; what cannot be read is said to be no answer', () => {
  assert.equal(noPicture({ status: 404 }, words), 'live-no-picture-unplugged');
  for (const odd of [null, {}, 'gone', 7, { why: 'constructor' }, { why: 3, status: 500 }, { status: 401 }]) {
    assert.equal(noPicture(odd, words), 'live-no-picture-no-answer', JSON.stringify(odd));
  }
});
