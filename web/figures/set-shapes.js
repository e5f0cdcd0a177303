/**
 * Figures: shapes that are held, and balances.
 *
 * Not here: what travels or flies.
 */

import { flat, hand, HIPS, out, shape, tip } from './parts.js';

/** @typedef {import('./motion.js').Figure} Figure */

/** @type {{[id: string]: Figure}} */
export const shapes = {
  stand: shape({ y: HIPS, lN: flat(0), lF: flat(-3), aN: [14, 12], aF: [-12, 10] }, [-45, -8, 90, 116]),
  star: shape({ y: 39, a: [118, 0], lN: out(20), lF: out(-20) }, [-60, -8, 120, 116], { bodies: [
    { view: 'front', keys: [{ y: 39, a: [118, 0], lN: out(22), lF: out(-22) }] },
  ] }),
  squat: shape({ x: -6, y: 19, lean: 28, curl: 14, neck: -15, lN: flat(0), lF: flat(-3), aN: [98, 0], aF: [90, 0] }, [-50, -8, 110, 90]),
  lunge: shape({ x: 0, y: 28, lean: 4, neck: -4, lN: flat(20), lF: tip(-42, 0, 140), aN: [172, 0], aF: [160, 0] }, [-65, -8, 120, 116], { heavy: ['lN'] }),
  'one-leg-balance': {
    bodies: [{ view: 'front', keys: [
      { x: -3, y: HIPS - 0.3, lean: -1.5, a: [90, 0], lF: out(-7), lN: [58, 118, 55], ms: 1800 },
      { x: -3, y: HIPS - 0.3, lean: 2, aN: [84, 0], aF: [96, 0], lF: out(-7), lN: [58, 118, 55], ms: 1800 },
    ] }],
    still: 0, loop: 'round', box: [-60, -8, 120, 116], heavy: ['lN'],
  },
  arabesque: {
    bodies: [{ keys: [
      { x: 4, y: HIPS - 0.3, lean: 4, lN: flat(2), lF: tip(-6), aN: [25, 0], aF: [-25, 0], hold: 500, ms: 1300 },
      { x: 1, y: HIPS - 0.3, lean: 44, curl: -46, neck: -12, lN: flat(2), lF: [-32, 0, 70], aN: [112, 0], aF: [-20, 0], hold: 2200, ms: 1300 },
    ] }],
    still: 1, loop: 'round', box: [-65, -8, 130, 116], heavy: ['lF'],
  },
  'front-support': shape({ x: 37.7, y: 24, lean: 72, neck: -28, l: { toe: [0, 3], to: 165 }, aN: hand(66), aF: hand(64) }, [-15, -8, 115, 70]),
  'back-support': shape({ on: ['ankleN', [42, 3]], lean: -66, neck: 10, l: [0, 0, 62], aN: hand(-26), aF: hand(-29) }, [-55, -8, 120, 70]),
  tuck: shape({ on: ['hips', [0, 3]], lean: 12, curl: 40, neck: 12, lN: flat(19), lF: flat(17), aN: { at: [22, 20] }, aF: { at: [20, 20] } }, [-35, -8, 80, 75]),
  pike: shape({ on: ['hips', [0, 3]], lean: 40, curl: 46, neck: 0, l: [107, 0, 50], aN: { at: [43, 12] }, aF: { at: [41, 12] } }, [-25, -8, 90, 75]),
  straddle: shape({}, [-60, -8, 120, 90], { bodies: [{ view: 'front', keys: [
    { y: 4.5, lN: [86, 0, 62], lF: [86, 0, 62], a: [102, 0] },
  ] }] }),
  'v-sit': shape({ on: ['hips', [0, 3]], lean: -36, curl: 8, neck: 14, l: [102, 0, 72], aN: [70, 0], aF: [62, 0] }, [-50, -8, 110, 80]),
  bridge: shape({ x: 17, y: 38, lean: -92, curl: -84, neck: -30, lN: flat(31), lF: flat(28), aN: hand(-23), aF: hand(-20) }, [-50, -8, 110, 75]),
  candle: shape({ on: ['neck', [0, 5]], lean: 186, curl: 16, neck: 62, l: [4, 0, 75], aN: [-2, 60], aF: [2, 60] }, [-50, -8, 100, 105]),
  'wall-handstand': {
    bodies: [{ keys: [
      { x: -20, y: 39, lean: 118, neck: -30, lF: flat(-40), lN: [-30, 10, 70], a: hand(-2), hold: 700, ms: 1100, ease: 'soft' },
      { x: 4.5, y: 62.4, lean: 172, neck: -24, lN: [-3, 0, 74], lF: [-3, 0, 74], a: hand(-2), hold: 2400, ms: 400 },
    ] }],
    still: 1, loop: 'again', box: [-75, -8, 110, 130], heavy: ['lN'],
    props: [{ kind: 'wall', x: 19, y: 0, w: 8, h: 122 }],
  },
};
