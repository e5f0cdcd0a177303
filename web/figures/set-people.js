/**
 * Figures: animal walks, partners, seated and supported ways, and what a class
 * does between turns.
 *
 * Not here: skills of one child on floor or apparatus.
 */

import { flat, hand, held, HIPS, lifted, out, shape, slanted, tip, walk } from './parts.js';

/**
 * @typedef {import('./motion.js').Figure} Figure
 * @typedef {import('./motion.js').Key} Key
 */

/** Hips and shoulders high, hands and feet by turns. @param {number} x @param {boolean} near @returns {Key} */
function bear(x, near) {
  const [n, f] = near ? [8, -4] : [-4, 8];
  return {
    x: x + 3, y: 44, lean: 116, neck: -60, ms: 300, ease: 'even',
    lN: tip(x - 12 + n, 0, 128), lF: tip(x - 12 + f, 0, 128), aN: hand(x + 31 + f), aF: hand(x + 31 + n),
  };
}

/** A crab: hands behind, feet ahead, face up. @param {number} x @param {boolean} near @returns {Key} */
function crab(x, near) {
  const [n, f] = near ? [6, -4] : [-4, 6];
  return {
    x: x, y: 18, lean: -61, neck: 16, ms: 300, ease: 'even',
    lN: flat(x + 20 + n), lF: flat(x + 20 + f), aN: hand(x - 20 + f), aF: hand(x - 20 + n),
  };
}

/** @type {Partial<Key>} */
const LEANING = slanted(-13, -14);
/** @type {Key[]} */
const COUNTER = [
  { x: -15.5, y: HIPS - 0.4, lean: -4, l: flat(-13), aN: { at: [-0.5, 58] }, aF: { at: [-0.5, 55] }, hold: 500, ms: 1400 },
  { x: LEANING.x, y: LEANING.y, lean: -14, l: flat(-13), aN: { at: [-0.5, 64] }, aF: { at: [-0.5, 62] }, hold: 2200, ms: 1400 },
];
/** @type {Key} */
const ON_CHAIR = { x: 0, y: 27, lean: -2, lN: flat(19), lF: flat(16) };
/** @type {Key} */
const ON_BENCH = { x: 0, y: 24, lean: 4, curl: 10, neck: -4, lN: flat(19), lF: flat(16), aN: [34, 44], aF: [30, 44] };
/** @type {Key} */
const QUEUE = { y: HIPS, lN: flat(0), lF: flat(-3), aN: [4, 6], aF: [-6, 6] };
/** @type {import('./motion.js').Prop} */
const CHAIR = { kind: 'chair', x: -9, y: 0, w: 24, h: 22 };

/** @type {{[id: string]: Figure}} */
export const people = {
  'bear-walk': { bodies: [{ keys: held(lifted([bear(0, true), bear(12, false), bear(24, true), bear(36, false), bear(48, true)]), 600, 600) }], still: 0, loop: 'again', box: [-40, -8, 165, 76] },
  'crab-walk': { bodies: [{ keys: held(lifted([crab(0, true), crab(10, false), crab(20, true), crab(30, false), crab(40, true)]), 600, 600) }], still: 0, loop: 'again', box: [-58, -8, 150, 76] },
  'counter-balance': { bodies: [{ keys: COUNTER }, { keys: COUNTER, face: -1 }], still: 1, loop: 'round', box: [-66, -8, 132, 116] },
  'back-to-back': {
    bodies: [1, -1].map(function (face) {
      return { face: /** @type {1 | -1} */ (face), keys: [
        { x: 6, y: 23, lean: 5, lN: flat(28), lF: flat(26), aN: [24, 70], aF: [20, 70] },
      ] };
    }),
    still: 0, loop: 'none', box: [-62, -8, 124, 96],
  },
  'seated-reach': {
    bodies: [{ keys: [
      Object.assign({}, ON_CHAIR, { aN: [20, 60], aF: [16, 60], hold: 500, ms: 900 }),
      Object.assign({}, ON_CHAIR, { aN: [174, 0], aF: [166, 0], hold: 1200, ms: 900 }),
    ] }], still: 1, loop: 'round', box: [-35, -8, 80, 110], props: [CHAIR], heavy: ['aN'],
  },
  'seated-balance': {
    bodies: [{ keys: [
      Object.assign({}, ON_CHAIR, { aN: [70, 0], aF: [-50, 0], hold: 500, ms: 900 }),
      Object.assign({}, ON_CHAIR, { lN: [92, 4, 30], aN: [70, 0], aF: [-50, 0], hold: 1500, ms: 900 }),
    ] }], still: 1, loop: 'round', box: [-45, -8, 105, 100], props: [CHAIR], heavy: ['lN'],
  },
  'supported-balance': shape(
    { x: -1, y: HIPS - 0.3, lean: 4, lF: flat(-2), lN: [-24, 76, 50], aN: { at: [28.5, 64] }, aF: { at: [28.5, 60] } },
    [-45, -8, 95, 116], { props: [{ kind: 'wall', x: 32, y: 0, w: 8, h: 100 }], heavy: ['lN'] },
  ),
  'helping-hand': {
    bodies: [
      { keys: [{ x: -18, y: 16 + HIPS - 2.2, lean: 2, lN: flat(-9, 16), lF: tip(-30, 16, 125), a: { at: [7, 78] } }] },
      { face: -1, at: 34, keys: [{ y: HIPS, lN: flat(0), lF: flat(-3), a: { at: [27, 78] } }] },
    ], still: 0, loop: 'none', box: [-72, -8, 140, 134], props: [{ kind: 'beam', x: -66, y: 0, w: 84, h: 16 }],
  },
  'line-up': { bodies: [-42, 0, 42].map(function (at) { return { at: at, keys: [QUEUE] }; }), still: 0, loop: 'none', box: [-66, -8, 136, 116] },
  'walk-this-way': {
    bodies: [{ keys: held(walk({ steps: 4, stride: 22, from: -14, ms: 300 }), 500, 500) }],
    still: 4, loop: 'again', box: [-50, -8, 150, 136], props: [{ kind: 'way', x: -14, y: 114, w: 78, h: 0 }],
  },
  'sit-and-watch': {
    bodies: [{ keys: [ON_BENCH] }, { at: -34, keys: [ON_BENCH] }],
    still: 0, loop: 'none', box: [-62, -8, 150, 110],
    props: [{ kind: 'bench', x: -52, y: 15, w: 66, h: 6 }, { kind: 'wall', x: -48, y: 0, w: 4, h: 15 }, { kind: 'wall', x: 6, y: 0, w: 4, h: 15 },
      { kind: 'screen', x: 62, y: 48, w: 20, h: 32 }],
  },
  sit: shape({}, [-50, -8, 100, 80], { bodies: [{ view: 'front', keys: [{ y: 9.5, l: [95, 168, 102], a: [38, 20] }] }] }),
  listen: shape({}, [-40, -8, 120, 116], {
    bodies: [{ view: 'front', keys: [{ x: -8.5, y: HIPS - 0.2, lean: 1, neck: 5, lN: { toe: [2, 3], to: 90 }, lF: out(-13), aN: [106, 126], aF: [12, 6] }] }],
    props: [{ kind: 'sound', x: 72, y: 90, w: 30, h: 0 }], heavy: ['aN'],
  }),
};
