/**
 * What several figures are made of: places for feet and hands, steps, and the
 * way back of a movement.
 *
 * Not here: any one figure.
 */

import { BONES, HALF_LINE, along } from './skeleton.js';

/**
 * @typedef {import('./motion.js').Key} Key
 * @typedef {import('./motion.js').Figure} Figure
 * @typedef {{toe: [number, number], to: number}} Foot
 * @typedef {{at: [number, number]}} Hand
 */

/** Hips over straight legs. */
export const HIPS = BONES.thigh + BONES.shank + HALF_LINE;

/** A foot flat on a surface, its heel at x. @param {number} x @param {number} [y] @param {number} [to] @returns {Foot} */
export function flat(x, y, to) {
  return { toe: [x + BONES.foot, (y || 0) + HALF_LINE], to: to === undefined ? 90 : to };
}

/** The same place with the heel lifted. @param {number} x @param {number} [y] @param {number} [to] */
export function tip(x, y, to) {
  return flat(x, y, to === undefined ? 140 : to);
}

/** From the front: a foot flat, the ankle at x, pointing outwards. @param {number} x @param {number} [y] @returns {Foot} */
export function out(x, y) {
  return { toe: [x + (x < 0 ? -6 : 6), (y || 0) + HALF_LINE], to: 90 };
}

/** A hand on a surface. @param {number} x @param {number} [y] @returns {Hand} */
export function hand(x, y) {
  return { at: [x, (y || 0) + HALF_LINE] };
}

/**
 * Steps forward, one foot always planted.
 * @param {{steps: number, stride: number, from?: number, y?: number, ms?: number, lift?: number, swing?: number, arms?: [[number, number], [number, number]], lean?: number}} how
 * @returns {Key[]}
 */
export function walk(how) {
  const y = how.y || 0;
  const stride = how.stride;
  const swing = how.swing === undefined ? 26 : how.swing;
  /** @type {Key[]} */
  const keys = [];
  for (let i = 0; i <= how.steps; i += 1) {
    const front = (how.from || 0) + i * stride;
    const nearFirst = i % 2 === 0;
    const planted = flat(front, y);
    const behind = tip(front - stride, y, 125);
    const arms = how.arms || (nearFirst ? [[-swing, 8], [swing, 22]] : [[swing, 22], [-swing, 8]]);
    keys.push({
      x: front - stride * 0.42, y: y + HIPS - 2.2, lean: how.lean || 3, lN: nearFirst ? planted : behind, lF: nearFirst ? behind : planted,
      aN: arms[0], aF: arms[1], ms: how.ms || 380, ease: 'even',
    });
    if (i < how.steps) {
      const along = { toe: /** @type {[number, number]} */ ([front + BONES.foot - 1, y + HALF_LINE + (how.lift || 5)]), to: 108 };
      keys.push({
        x: front + 1, y: y + HIPS - 0.4, lean: how.lean || 3, lN: nearFirst ? planted : along, lF: nearFirst ? along : planted,
        aN: how.arms ? arms[0] : [0, 14], aF: how.arms ? arms[1] : [0, 14], ms: how.ms || 380, ease: 'even',
      });
    }
  }
  return keys;
}

/** The same keys from last to first. @param {Key[]} keys @returns {Key[]} */
export function backwards(keys) {
  return keys.map(function (_, i) {
    const key = keys[keys.length - 1 - i];
    const before = keys[keys.length - 2 - i];
    return Object.assign({}, key, { ms: before ? before.ms : key.ms, ease: 'soft' });
  });
}

/** The last pose kept a while. @param {Key[]} keys @param {number} first ms @param {number} last ms @returns {Key[]} */
export function held(keys, first, last) {
  return keys.map(function (key, i) {
    if (i === 0) return Object.assign({}, key, { hold: first });
    return i === keys.length - 1 ? Object.assign({}, key, { hold: last }) : key;
  });
}

/**
 * A body that stands straight on a slant: where its hips are, its heels at x.
 * @param {number} x @param {number} slant
 */
export function slanted(x, slant) {
  const hips = along([x, HALF_LINE], BONES.thigh + BONES.shank - 0.01, slant);
  return { x: hips[0], y: hips[1], lean: slant };
}

/**
 * Between two keys, whatever is held elsewhere in the second leaves the floor on its way.
 * @param {Key[]} keys
 * @returns {Key[]}
 */
export function lifted(keys) {
  /** @type {Key[]} */
  const all = [];
  /** @param {any} a @param {any} b @param {'at' | 'toe'} place */
  const over = function (a, b, place) {
    const up = a[place][0] === b[place][0] ? 0 : 6;
    return Object.assign({}, a, { [place]: [(a[place][0] + b[place][0]) / 2, (a[place][1] + b[place][1]) / 2 + up] });
  };
  keys.forEach(function (key, i) {
    all.push(key);
    const next = keys[i + 1];
    if (!next) return;
    all.push(Object.assign({}, key, {
      x: ((key.x || 0) + (next.x || 0)) / 2,
      aN: over(key.aN, next.aN, 'at'), aF: over(key.aF, next.aF, 'at'), lN: over(key.lN, next.lN, 'toe'), lF: over(key.lF, next.lF, 'toe'),
    }));
  });
  return all;
}

/** A figure that does not move. @param {Key} key @param {Figure['box']} box @param {Partial<Figure>} [more] @returns {Figure} */
export function shape(key, box, more) {
  return Object.assign({ bodies: [{ keys: [key] }], still: 0, loop: /** @type {'none'} */ ('none'), box: box }, more);
}
