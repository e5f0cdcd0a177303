// The reckoning of flashes, with flashes that are known.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { changes, flashesAt, mostFlashes, seen } from './flashes.mjs';

const WHITE = [255, 255, 255];
const BLACK = [0, 0, 0];
/** Two colours by turns, so many changes a second for three seconds, thirty pictures a second. */
const blinking = (one, other, changes_hz) => Array.from({ length: 90 }, (_, i) => [
  i * 1000 / 30, seen(...(Math.floor(i / 30 * changes_hz) % 2 ? one : other)),
]);

test('relative luminance is that of the published formula', () => {
  // WCAG 2.2, "contrast ratio": white on black is 21:1, so (1 + 0.05) / (0 + 0.05).
  assert.equal(seen(...WHITE).luminance.toFixed(6), '1.000000');
  assert.equal(seen(...BLACK).luminance, 0);
  // #777 on white is 4.48:1 (WCAG technique G18's well-known grey; from memory).
  assert.equal((1.05 / (seen(0x77, 0x77, 0x77).luminance + 0.05)).toFixed(2), '4.48');
});

test('a pair of opposing changes is one flash', () => {
  assert.equal(flashesAt(blinking(WHITE, BLACK, 6)), 3);
  assert.equal(flashesAt(blinking(WHITE, BLACK, 8)), 4);
  assert.equal(flashesAt(blinking(WHITE, BLACK, 1)), 0, 'one change each second is half a flash');
});

test('what is too slight or too bright is none', () => {
  // From 0.216 to 0.296: less than a tenth.
  assert.equal(flashesAt(blinking([128, 128, 128], [148, 148, 148], 10)), 0);
  // Both above 0.80.
  assert.equal(flashesAt(blinking(WHITE, [235, 235, 235], 10)), 0);
  assert.ok(seen(235, 235, 235).luminance > 0.8);
});

test('saturated red flashes by itself', () => {
  const dark = [150, 0, 0];
  assert.ok(Math.abs(seen(255, 0, 0).luminance - seen(...dark).luminance) > 0.1);
  assert.equal(flashesAt(blinking([255, 0, 0], [120, 0, 0], 8)), 4);
  // As luminous by turns, and no general flash.
  assert.equal(flashesAt(blinking([200, 0, 0], [0, 105, 0], 8)), 4);
});

test('a slow change is one, however many pictures it takes, and noise is none', () => {
  const ramp = Array.from({ length: 60 }, (_, i) => [i * 30, i / 60 + (i % 2 ? 0.04 : 0)]);
  assert.equal(changes(ramp, 0.1).length, 1);
});

test('a small place may flash, a quarter of a third may not', () => {
  const screen = (cells) => Array.from({ length: 60 }, (_, i) => ({
    ms: i * 50,
    pixels: Array.from({ length: 12 * 12 }, (_, cell) => (cell % 12 < cells[0] && cell / 12 < cells[1] && i % 2 ? [255, 255, 255, 255] : [0, 0, 0, 255])).flat(),
  }));
  assert.equal(mostFlashes(screen([1, 3]), 12, 12), 0);
  assert.ok(mostFlashes(screen([2, 2]), 12, 12) > 3);
});

test('no style moves by itself', () => {
  const folder = new URL('../../web/style/', import.meta.url);
  for (const file of readdirSync(folder)) {
    assert.doesNotMatch(readFileSync(new URL(file, folder), 'utf8'), /@keyframes|animation|transition\s*:/, file);
  }
});
