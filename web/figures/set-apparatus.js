/**
 * Figures: beam, box, bar, and the run-up.
 *
 * Not here: the floor.
 */

import { backwards, flat, hand, held, HIPS, tip, walk } from './parts.js';

/**
 * @typedef {import('./motion.js').Figure} Figure
 * @typedef {import('./motion.js').Key} Key
 * @typedef {import('./motion.js').Prop} Prop
 */

const TOP = 16;
/** @type {Prop} */
const BEAM = { kind: 'beam', x: -40, y: 0, w: 150, h: TOP };
/** @type {[[number, number], [number, number]]} */
const ASIDE = [[62, 0], [-62, 0]];
/** @type {[number, number, number, number]} */
const BEAM_BOX = [-52, -8, 168, 134];
const ALONG = walk({ steps: 4, stride: 20, from: -8, y: TOP, ms: 420, lift: 6, arms: ASIDE, lean: 1 });

const BOX = 34;

/** One running step and the flight after it; `near` is the foot on the floor. @param {number} x @param {boolean} near @returns {Key[]} */
function stride(x, near) {
  /** @type {import('./motion.js').LegPose} */
  const bent = [72, 96, 10];
  /** @type {import('./motion.js').LegPose} */
  const trail = [-22, 62, 60];
  /** @type {import('./motion.js').LegPose} */
  const lead = [50, 34, 0];
  /** @type {[number, number]} */
  const ahead = [46, 88];
  /** @type {[number, number]} */
  const back = [-48, 78];
  return [
    { x: x, y: 40, lean: 12, neck: -8, lN: near ? flat(x) : [30, 110, 40], lF: near ? [30, 110, 40] : flat(x), aN: [0, 85], aF: [0, 85], ms: 130, ease: 'even' },
    { x: x + 17, y: 44.5, lean: 14, neck: -8, lN: near ? tip(x, 0, 142) : bent, lF: near ? bent : tip(x, 0, 142), aN: near ? ahead : back, aF: near ? back : ahead, ms: 110, ease: 'even' },
    { x: x + 32, y: 49, lean: 13, neck: -8, lN: near ? trail : lead, lF: near ? lead : trail, aN: near ? ahead : back, aF: near ? back : ahead, ms: 130, ease: 'even' },
  ];
}

/** @type {{[id: string]: Figure}} */
export const apparatus = {
  'beam-step': { bodies: [{ keys: held(ALONG, 600, 700) }], still: 2, loop: 'again', box: BEAM_BOX, props: [BEAM] },
  'beam-back': {
    bodies: [{ keys: held(backwards(ALONG), 600, 700) }], still: 2, loop: 'again', box: [-52, -8, 168, 156],
    props: [BEAM, { kind: 'way', x: 70, y: 132, w: -40, h: 0 }],
  },
  'beam-hop': {
    bodies: [{ keys: [
      { x: 4, y: TOP + 38, lean: 10, lN: flat(8, TOP), lF: [54, 104, 40], aN: [40, 0], aF: [-50, 0], hold: 500, ms: 260, ease: 'start' },
      { x: 10, y: TOP + HIPS + 5, lN: tip(8, TOP, 150), lF: [50, 80, 40], aN: [72, 0], aF: [-60, 0], ms: 210, ease: 'rise' },
      { x: 20, y: TOP + 59, lN: [4, 6, 66], lF: [60, 84, 40], aN: [80, 0], aF: [-66, 0], ms: 210, ease: 'fall' },
      { x: 31, y: TOP + HIPS - 1, lN: flat(32, TOP), lF: [50, 80, 40], aN: [72, 0], aF: [-60, 0], ms: 180, ease: 'stop' },
      { x: 29, y: TOP + 38, lean: 10, lN: flat(32, TOP), lF: [54, 104, 40], aN: [60, 0], aF: [-60, 0], ms: 500 },
      { x: 32, y: TOP + HIPS - 0.5, lN: flat(32, TOP), lF: [56, 100, 40], aN: [70, 0], aF: [-66, 0], hold: 800 },
    ] }],
    still: 2, loop: 'again', box: [-46, -8, 162, 140], props: [BEAM], heavy: ['lN'],
  },
  'run-up': {
    bodies: [{ keys: [...stride(0, true), ...stride(46, false), ...stride(92, true), ...stride(138, false)].concat(stride(184, true).slice(0, 1)) }],
    still: 5, loop: 'again', box: [-45, -8, 300, 116], near: [24, -8, 110, 112], props: [{ kind: 'mat', x: 226, y: 0, w: 26, h: 6 }],
  },
  'squat-on': {
    bodies: [{ keys: [
      { x: -5, y: 34, lean: 50, neck: -24, lN: flat(2), lF: flat(-1), aN: hand(40, BOX), aF: hand(37, BOX), hold: 700, ms: 320, ease: 'start' },
      { x: 13, y: 45, lean: 64, neck: -30, lN: tip(2, 0, 150), lF: tip(-1, 0, 150), aN: hand(40, BOX), aF: hand(37, BOX), ms: 330, ease: 'rise' },
      { x: 24, y: 61, lean: 84, curl: 30, neck: -20, l: [120, 125, 30], aN: hand(40, BOX), aF: hand(37, BOX), ms: 330, ease: 'fall' },
      { x: 33, y: BOX + 20, lean: 38, curl: 26, neck: -24, lN: flat(41, BOX, 112), lF: flat(38, BOX, 112), aN: [92, 0], aF: [84, 0], hold: 900, ms: 800, ease: 'soft' },
      { x: 42, y: BOX + HIPS - 0.2, lN: flat(41, BOX), lF: flat(38, BOX), aN: [168, 0], aF: [160, 0], hold: 900 },
    ] }],
    still: 3, loop: 'again', box: [-40, -8, 140, 156], props: [{ kind: 'box', x: 26, y: 0, w: 62, h: BOX }],
  },
  'straddle-on': {
    bodies: [{ view: 'front', keys: [
      { y: BOX + 56, l: [52, 0, 72], a: [70, 0], hold: 400, ms: 380, ease: 'fall' },
      { y: 61, lN: { toe: [41, BOX + 3], to: 90 }, lF: { toe: [-41, BOX + 3], to: 90 }, a: [90, 0], hold: 600, ms: 700 },
      { y: BOX + 31, lN: { toe: [41, BOX + 3], to: 90 }, lF: { toe: [-41, BOX + 3], to: 90 }, a: [110, 0], hold: 1500 },
    ] }],
    still: 2, loop: 'again', box: [-64, -8, 128, 156], props: [{ kind: 'box', x: -54, y: 0, w: 108, h: BOX }],
  },
  'stick-landing': {
    bodies: [{ keys: [
      { x: -36, y: BOX + HIPS - 0.2, lN: flat(-36, BOX), lF: flat(-39, BOX), aN: [10, 10], aF: [-10, 10], hold: 500, ms: 400 },
      { x: -45, y: BOX + 34, lean: 28, neck: -12, lN: flat(-36, BOX), lF: flat(-39, BOX), aN: [-30, 0], aF: [-36, 0], ms: 260, ease: 'start' },
      { x: -30, y: BOX + HIPS + 4, lean: 6, lN: tip(-36, BOX, 148), lF: tip(-39, BOX, 148), aN: [120, 0], aF: [110, 0], ms: 220, ease: 'rise' },
      { x: -6, y: BOX + 56, lean: 0, l: [8, 4, 66], aN: [165, 0], aF: [155, 0], ms: 420, ease: 'fall' },
      { x: 22, y: HIPS - 1, lean: 2, lN: flat(24), lF: flat(21), aN: [120, 0], aF: [110, 0], ms: 200, ease: 'stop' },
      { x: 14, y: 29, lean: 32, neck: -12, lN: flat(24), lF: flat(21), aN: [92, 0], aF: [84, 0], hold: 1600, ms: 700 },
      { x: 24, y: HIPS - 0.2, lN: flat(24), lF: flat(21), aN: [168, 0], aF: [160, 0], hold: 800 },
    ] }],
    still: 5, loop: 'again', box: [-72, -10, 144, 168],
    props: [{ kind: 'box', x: -66, y: 0, w: 40, h: BOX }, { kind: 'mat', x: -4, y: -6, w: 70, h: 6 }],
  },
  hang: {
    bodies: [{ view: 'front', keys: [{ y: 61, a: [176, 0], lN: [2, 0, 76], lF: [2, 0, 76], on: ['handN', [10, 122]] }] }],
    still: 0, loop: 'none', box: [-50, -8, 100, 140],
    props: [{ kind: 'mat', x: -44, y: 119, w: 88, h: 6 }, { kind: 'wall', x: -44, y: 0, w: 5, h: 125 }, { kind: 'wall', x: 39, y: 0, w: 5, h: 125 }],
  },
  swing: {
    bodies: [{ keys: [
      { on: ['handN', [0, 118]], lean: 32, neck: -6, a: [176, 0], l: [-10, 6, 74], ms: 1000 },
      { on: ['handN', [0, 118]], lean: -44, neck: 8, a: [150, 0], l: [26, 0, 74], ms: 1000 },
    ] }],
    still: 1, loop: 'round', box: [-85, -8, 170, 140], heavy: ['lN'],
    props: [{ kind: 'bar', x: 0, y: 118, w: 8, h: 8 }, { kind: 'wall', x: -1.5, y: 0, w: 3, h: 118 }],
  },
};
