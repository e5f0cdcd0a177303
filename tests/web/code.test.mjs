// A code as it is read out, and as an address carries it.

import assert from 'node:assert/strict';
import test from 'node:test';
import { codeIn, spacedCode } from '../../web/live/code.js';

test('a code is read out in threes', () => {
  assert.equal(spacedCode('K7MX4P'), 'K7M X4P');
});

test('an address carries a code and nothing else', () => {
  assert.equal(codeIn('#K7MX4P'), 'K7MX4P');
  assert.equal(codeIn('#k7mx4p'), 'K7MX4P');
  for (const other of ['', '#', '#K7M', '#K7MX4PQ', '#K7M X4', '#K7MX4P?', '#"><b>x', 'K7MX4P', '#K7MX4%50', '#ÄÖÜäöü']) {
    assert.equal(codeIn(other), '', other);
  }
});
