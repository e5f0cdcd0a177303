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
  star: shape({}, [-60, -8, 120, 116], { bodies: [
    { view: 'front', keys: [{ y: 40, a: [118, 0], lN: out(24), lF: out(-24) }] },
  ] }),
  squat: shape({ x: -7, y: 20, lean: 28, curl: 14, neck: -15, lN: flat(0, 0, 108), lF: flat(-3, 0, 108), aN: [98, 0], aF: [90, 0] }, [-50, -8, 110, 90]),
  lunge: shape({ x: 4, y: 31, lean: 10, curl: -30, neck: 4, lN: flat(25), lF: tip(-35, 0, 140), aN: [172, 0], aF: [152, 0] }, [-65, -8, 120, 116], { heavy: ['lN'] }),
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
  'back-support': shape({ on: ['ankleN', [42, 3]], lean: -66, neck: 10, l: [0, 0, 62], aN: hand(-13), aF: hand(-16) }, [-55, -8, 120, 70]),
  tuck: shape({ on: ['hips', [0, 3]], lean: 8, curl: 40, neck: 12, lN: flat(21), lF: flat(19), aN: { at: [22, 20] }, aF: { at: [20, 20] } }, [-35, -8, 80, 75]),
  pike: shape({ on: ['hips', [0, 3]], lean: 40, curl: 46, neck: 0, l: [107, 0, 50], aN: { at: [43, 12] }, aF: { at: [41, 12] } }, [-25, -8, 90, 75]),
  straddle: shape({}, [-60, -8, 120, 90], { bodies: [{ view: 'front', keys: [
    { y: 6, lN: [86, 0, 62], lF: [86, 0, 62], a: [102, 0] },
  ] }] }),
  'v-sit': shape({ on: ['hips', [0, 3]], lean: -36, curl: 8, neck: 14, l: [102, 0, 72], aN: [70, 0], aF: [62, 0] }, [-50, -8, 110, 80]),
  bridge: shape({ x: 17, y: 36, lean: -104, curl: -84, neck: -30, lN: flat(31), lF: flat(28), aN: hand(-18), aF: hand(-16) }, [-50, -8, 110, 75]),
  candle: shape({ on: ['neck', [0, 8.5]], lean: 188, curl: 24, neck: 70, l: [0, 0, 75], aN: [-66, 108], aF: [-64, 108] }, [-50, -8, 100, 105]),
  'wall-handstand': {
    bodies: [{ keys: [
      { x: -20, y: 38, lean: 118, neck: 56, lF: flat(-38, 0, 100), lN: [-30, 10, 70], a: hand(-2), hold: 700, ms: 1100, ease: 'soft' },
      { x: 1.5, y: 61, lean: 186, neck: -26, lN: [-4, 0, 78], lF: [-4, 0, 78], a: hand(-2), hold: 2400, ms: 400 },
    ] }],
    still: 1, loop: 'again', box: [-75, -8, 110, 130], heavy: ['lN'],
    props: [{ kind: 'wall', x: 15.5, y: 0, w: 8, h: 122 }],
  },
};
