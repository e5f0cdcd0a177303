/**
 * Figures: jumps and landings on the floor, rolls, the cartwheel.
 *
 * Not here: beam, box and bar.
 */

import { backwards, flat, hand, HIPS, held, out, tip } from './parts.js';

/**
 * @typedef {import('./motion.js').Figure} Figure
 * @typedef {import('./motion.js').Key} Key
 * @typedef {import('./motion.js').Prop} Prop
 */

/** @type {Partial<Key>} */
const CROUCH = { x: -11, y: 28, lean: 40, neck: -20, lN: flat(0), lF: flat(-3), aN: [-40, 0], aF: [-46, 0] };
/** @type {Partial<Key>} */
const UP = { x: 1, y: HIPS + 6, lean: 2, lN: tip(0, 0, 152), lF: tip(-3, 0, 152), aN: [168, 0], aF: [160, 0] };
/** @type {Partial<Key>} */
const LANDED = { x: -10, y: 29, lean: 32, neck: -14, lN: flat(0), lF: flat(-3), aN: [92, 0], aF: [84, 0] };
/** @type {Partial<Key>} */
const STAND = { y: HIPS, lN: flat(0), lF: flat(-3), aN: [14, 12], aF: [-10, 12] };

/** A jump on the spot with a shape in the air. @param {Partial<Key>} shape @returns {Key[]} */
function jump(shape) {
  return [
    Object.assign({}, STAND, { hold: 500, ms: 600 }),
    Object.assign({}, CROUCH, { hold: 80, ms: 240, ease: 'start' }),
    Object.assign({}, UP, { ms: 300, ease: 'rise' }),
    Object.assign({}, shape, { hold: 40, ms: 300, ease: 'fall' }),
    Object.assign({}, UP, { lN: flat(0), lF: flat(-3), x: 0, y: HIPS - 1, aN: [120, 0], aF: [112, 0], ms: 160, ease: 'stop' }),
    Object.assign({}, LANDED, { hold: 500, ms: 700 }),
  ];
}

/** @type {Key[]} */
const FORWARD = held([
  { x: -4, y: 20, lean: 24, curl: 30, neck: -10, lN: flat(0, 0, 114), lF: flat(-3, 0, 114), aN: [92, 0], aF: [84, 0], ms: 700 },
  { x: 6, y: 37, lean: 106, curl: 70, neck: 50, lN: tip(0), lF: tip(-3), aN: hand(36), aF: hand(33), ms: 450, ease: 'even' },
  { x: 30, rest: 0, lean: 186, curl: 100, neck: 55, lN: [122, 104, 50], lF: [118, 104, 50], aN: [110, 20], aF: [104, 20], ms: 330, ease: 'even' },
  { x: 56, rest: 0, lean: 264, curl: 104, neck: 46, l: [124, 130, 30], aN: [70, 60], aF: [64, 60], ms: 330, ease: 'even' },
  { x: 73, rest: 0, lean: 336, curl: 84, neck: 20, l: [132, 142, 5], aN: [80, 10], aF: [74, 10], ms: 330, ease: 'even' },
  { x: 84, y: 20, lean: 388, curl: 30, neck: -10, lN: flat(88, 0, 114), lF: flat(85, 0, 114), aN: [92, 0], aF: [84, 0], ms: 600, ease: 'soft' },
  { x: 88, y: HIPS, lean: 360, lN: flat(88), lF: flat(85), aN: [168, 0], aF: [160, 0] },
], 700, 900);

/** @type {Prop} */
const MAT = { kind: 'mat', x: -30, y: -6, w: 150, h: 6 };

/** @type {{[id: string]: Figure}} */
export const floor = {
  jump: { bodies: [{ keys: jump({ x: 1, y: 72, lean: 0, l: [0, 0, 72], aN: [172, 0], aF: [154, 0] }) }], still: 3, loop: 'round', box: [-50, -8, 104, 148], props: [{ kind: 'lift', x: 42, y: 46, w: 0, h: 36 }] },
  'tuck-jump': { bodies: [{ keys: jump({ x: -4, y: 62, lean: 18, curl: 30, neck: -8, l: [118, 122, 40], aN: [52, 34], aF: [46, 34] }) }], still: 3, loop: 'round', box: [-50, -8, 100, 130], heavy: ['lN'] },
  'straddle-jump': {
    bodies: [{ view: 'front', keys: [
      { y: HIPS, lN: out(5), lF: out(-5), a: [15, 10], hold: 400, ms: 500 },
      { y: 32, lN: out(5), lF: out(-5), a: [40, 0], hold: 60, ms: 240, ease: 'start' },
      { y: HIPS - 0.4, lN: out(5), lF: out(-5), a: [140, 0], ms: 320, ease: 'rise' },
      { y: 66, l: [76, 0, 78], a: [98, 0], hold: 60, ms: 320, ease: 'fall' },
      { y: HIPS - 0.4, lN: out(5), lF: out(-5), a: [120, 0], ms: 160, ease: 'stop' },
      { y: 34, lN: out(5), lF: out(-5), a: [80, 0], hold: 400, ms: 600 },
    ] }],
    still: 3, loop: 'round', box: [-62, -8, 124, 132], heavy: ['lN', 'lF'],
  },
  'soft-landing': {
    bodies: [{ keys: [
      { x: 1, y: 66, l: [8, 6, 60], aN: [150, 0], aF: [142, 0], hold: 520, ms: 330, ease: 'fall' },
      { x: 0, y: HIPS - 1, lean: 4, lN: flat(0), lF: flat(-3), aN: [110, 0], aF: [102, 0], ms: 260, ease: 'stop' },
      Object.assign({}, LANDED, { hold: 1500, ms: 800 }),
      Object.assign({}, STAND, { hold: 800 }),
    ] }],
    still: 2, loop: 'again', box: [-50, -10, 105, 138],
    props: [{ kind: 'mat', x: -40, y: -6, w: 85, h: 6 }, { kind: 'lift', x: 36, y: 96, w: 0, h: -30 }],
  },
  hop: {
    bodies: [{ keys: [
      { x: -2, y: 38, lean: 14, lN: flat(0), lF: [52, 104, 40], aN: [-30, 20], aF: [-26, 20], hold: 160, ms: 240, ease: 'start' },
      { x: 2, y: HIPS + 5, lN: tip(0, 0, 150), lF: [55, 80, 40], aN: [60, 40], aF: [50, 40], ms: 230, ease: 'rise' },
      { x: 14, y: 60, lN: [6, 8, 66], lF: [66, 80, 40], aN: [84, 20], aF: [74, 20], ms: 230, ease: 'fall' },
      { x: 25, y: HIPS - 1, lN: flat(26), lF: [60, 100, 40], aN: [60, 20], aF: [50, 20], ms: 180, ease: 'stop' },
      { x: 24, y: 38, lean: 14, lN: flat(26), lF: [52, 104, 40], aN: [-10, 20], aF: [-6, 20], hold: 700 },
    ] }],
    still: 2, loop: 'again', box: [-45, -8, 115, 128], heavy: ['lN'],
  },
  'forward-roll': { bodies: [{ keys: FORWARD }], still: 1, loop: 'again', box: [-38, -12, 172, 126], near: [-36, -12, 100, 84], props: [MAT, { kind: 'turn', x: 24, y: 50, w: 22, h: 20, still: true }] },
  'backward-roll': {
    bodies: [{ keys: held(backwards(FORWARD).map(function (key, i) {
      return i === 2 ? Object.assign({}, key, { a: [165, 130] }) : i === 3 ? Object.assign({}, key, { a: [172, 120] }) : i === 4 ? Object.assign({}, key, { a: [160, 60] }) : key;
    }), 700, 900) }],
    still: 3, loop: 'again', box: [-38, -12, 172, 126], near: [-14, -12, 100, 84], props: [MAT, { kind: 'turn', x: 40, y: 50, w: -22, h: 20, still: true }],
  },
  rock: {
    bodies: [{ keys: [
      { x: 0, rest: 0, lean: -12, curl: 84, neck: 20, l: [128, 132, 30], aN: [64, 20], aF: [60, 20], ms: 900 },
      { x: -22, rest: 0, lean: -96, curl: 104, neck: 40, l: [126, 128, 40], aN: [64, 40], aF: [60, 40], ms: 900 },
    ] }],
    still: 1, loop: 'round', box: [-75, -10, 120, 80], props: [{ kind: 'mat', x: -70, y: -6, w: 110, h: 6 }],
  },
  // Seen from above, on a long mat: the body lies across the picture's height.
  'log-roll': {
    bodies: [{ view: 'front', keys: [
      { x: -44, y: 52, turn: 0, a: [174, 0], lN: [-4, 0, 88], lF: [-4, 0, 88], hold: 600, ms: 4200, ease: 'soft' },
      { x: 44, y: 52, turn: 720, a: [174, 0], lN: [-4, 0, 88], lF: [-4, 0, 88], hold: 700 },
    ] }],
    still: 0, loop: 'again', floor: false, box: [-80, -8, 160, 136], near: [-80, -8, 160, 135.5],
    props: [{ kind: 'rug', x: -72, y: -4, w: 144, h: 126 }, { kind: 'turn', x: 22, y: 58, w: 28, h: 18, still: true }],
  },
  cartwheel: {
    bodies: [{ view: 'front', keys: [
      { x: 0, y: 37, a: [150, 0], lN: out(28.4), lF: out(-28.4), hold: 600, ms: 620, ease: 'soft' },
      { x: 32, y: 39, lean: 93, aN: hand(68), aF: [165, 0], lN: out(28.4), lF: [44, 0, 70], ms: 420, ease: 'even' },
      { x: 77, y: 62.2, lean: 180, neck: 0, aN: hand(68), aF: hand(86), l: [52, 0, 75], hold: 0, ms: 420, ease: 'even' },
      { x: 122, y: 39, lean: 267, aF: hand(86), aN: [165, 0], lF: { toe: [119.6, 3], to: 90 }, lN: [44, 0, 70], ms: 620, ease: 'soft' },
      { x: 154, y: 37, lean: 360, a: [150, 0], lF: { toe: [119.6, 3], to: 90 }, lN: out(182.4), hold: 800 },
    ] }],
    still: 2, loop: 'again', box: [-50, -8, 256, 124], near: [20, -8, 114, 112],
  },
};
