/**
 * The body of a figure: bones of fixed length, joints that bend within human
 * range, and where every point of it lies. Lengths are in hundredths of a
 * child's height, angles in degrees; x grows the way the figure faces, y grows
 * upwards from the floor.
 *
 * Seen from the side, every joint angle is flexion: nothing is bent at 0, and
 * a person stands. Seen from the front, limbs move out to their own side
 * instead. `N` is the near side, `F` the far one; from the front, `N` is the
 * one on the right of the picture.
 *
 * Not here: time (motion.js), pictures (draw.js), any one figure.
 */

/**
 * @typedef {[number, number]} Point
 * @typedef {{s: number, e: number}} Arm shoulder and elbow
 * @typedef {{h: number, k: number, a: number}} Leg hip, knee and ankle
 * @typedef {{x: number, y: number, lean: number, curl: number, neck: number, turn: number,
 *   aN: Arm, aF: Arm, lN: Leg, lF: Leg}} Stance the angles, and where the hips are; `turn` is
 *   about the long axis, and shows from the front
 * @typedef {'side' | 'front'} View
 * @typedef {'aN' | 'aF'} ArmName
 * @typedef {'lN' | 'lF'} LegName
 * @typedef {{[name: string]: Point}} Points
 */

/**
 * A child of eight, from memory: the head a sixth of the height, legs a little
 * under half, arms to the middle of the thigh.
 */
export const BONES = Object.freeze({
  spine: 9.5, neck: 15.5, upperArm: 15, foreArm: 16, thigh: 21.5, shank: 20.5, foot: 8.5,
});
/** Of the head. */
export const HEAD_RADIUS = 8.2;
/** Half of the line: what rests on a surface has its bones this far above it. */
export const HALF_LINE = 3;
/** From the front, joints stand beside the spine. */
const SHOULDER_ASIDE = 7.5;
const HIP_ASIDE = 4;
/** From the front a foot is foreshortened. */
const FOOT_FROM_FRONT = 6;

/**
 * How far joints go, from memory, for supple children. An ankle's range
 * includes the middle foot and the toes, since all are one line here; a hip's
 * backwards includes the tilt of the pelvis, a shoulder's the shoulder blade. From the front, angles include
 * what bending and turning towards the onlooker adds.
 */
export const RANGES = Object.freeze({
  side: { curl: [-95, 110], neck: [-65, 70], s: [-90, 195], e: [0, 150], h: [-45, 142], k: [0, 152], a: [-45, 80] },
  front: { curl: [-40, 40], neck: [-45, 45], s: [-30, 190], e: [0, 150], h: [-30, 130], k: [0, 172], a: [-90, 110] },
});

const DEGREE = Math.PI / 180;

/** A point some way off, in a direction: 0 is up, 90 ahead. @param {Point} from @param {number} length @param {number} direction @returns {Point} */
export function along(from, length, direction) {
  return [from[0] + length * Math.sin(direction * DEGREE), from[1] + length * Math.cos(direction * DEGREE)];
}

/** @param {Point} from @param {Point} to */
function directionOf(from, to) {
  return Math.atan2(to[0] - from[0], to[1] - from[1]) / DEGREE;
}

/** The same angle, no further than half a turn from another. @param {number} angle @param {number} near */
function turned(angle, near) {
  return angle - 360 * Math.round((angle - near) / 360);
}

/** @param {View} view @param {string} limb: which way "out" or "ahead" is. */
function side(view, limb) {
  return view === 'front' && limb.charAt(1) === 'F' ? -1 : 1;
}

/** @param {View} view */
function footLength(view) {
  return view === 'front' ? FOOT_FROM_FRONT : BONES.foot;
}

/** Spine, neck and the roots of the limbs. @param {Stance} p @param {View} view */
function trunk(p, view) {
  const low = p.lean - p.curl / 2;
  const high = p.lean + p.curl / 2;
  /** @type {Point} */
  const hips = [p.x, p.y];
  const waist = along(hips, BONES.spine, low);
  const chest = along(waist, BONES.spine, p.lean);
  const neck = along(chest, BONES.spine, high);
  const open = view === 'front' ? Math.cos(p.turn * DEGREE) : 0;
  const aside = [SHOULDER_ASIDE * open, HIP_ASIDE * open];
  /** @type {Points} */
  const points = {
    hips: hips, waist: waist, chest: chest, neck: neck,
    head: along(neck, BONES.neck, high + p.neck),
    shoulderN: along(neck, aside[0], high + 90), shoulderF: along(neck, -aside[0], high + 90),
    hipN: along(hips, aside[1], low + 90), hipF: along(hips, -aside[1], low + 90),
  };
  return { low: low, high: high, points: points };
}

/**
 * Where every point of a stance lies.
 * @param {Stance} p
 * @param {View} view
 * @returns {Points}
 */
export function points(p, view) {
  const body = trunk(p, view);
  const all = body.points;
  for (const limb of /** @type {ArmName[]} */ (['aN', 'aF'])) {
    const end = limb.charAt(1);
    const way = side(view, limb);
    const upper = body.high + 180 - way * p[limb].s;
    all['elbow' + end] = along(all['shoulder' + end], BONES.upperArm, upper);
    all['hand' + end] = along(all['elbow' + end], BONES.foreArm, upper - way * p[limb].e);
  }
  for (const limb of /** @type {LegName[]} */ (['lN', 'lF'])) {
    const end = limb.charAt(1);
    const way = side(view, limb);
    const thigh = body.low + 180 - way * p[limb].h;
    const shank = thigh + way * p[limb].k;
    all['knee' + end] = along(all['hip' + end], BONES.thigh, thigh);
    all['ankle' + end] = along(all['knee' + end], BONES.shank, shank);
    all['toe' + end] = along(all['ankle' + end], footLength(view), shank - way * (90 - p[limb].a));
  }
  return all;
}

/**
 * Two bones from a joint to a place, bent to one side; stretched towards it
 * where it is out of reach.
 * @param {Point} from @param {Point} to @param {number} first @param {number} second @param {number} bend 1 or -1
 */
function reach(from, to, first, second, bend) {
  const far = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const d = Math.max(Math.abs(first - second) + 0.01, Math.min(first + second - 0.001, far));
  const inner = Math.acos((first * first + second * second - d * d) / (2 * first * second)) / DEGREE;
  const off = Math.acos((first * first + d * d - second * second) / (2 * first * d)) / DEGREE;
  return { direction: directionOf(from, to) - bend * off, flexed: 180 - inner };
}

/** The arm that puts a hand there. @param {Stance} p @param {View} view @param {ArmName} limb @param {Point} to @returns {Arm} */
export function armTo(p, view, limb, to) {
  const body = trunk(p, view);
  const way = side(view, limb);
  const found = reach(body.points['shoulder' + limb.charAt(1)], to, BONES.upperArm, BONES.foreArm, -way);
  return { s: turned(way * (body.high + 180 - found.direction), 60), e: found.flexed };
}

/**
 * The leg that puts the tip of a foot there, the foot pointing in a direction.
 * @param {Stance} p @param {View} view @param {LegName} limb @param {Point} toe @param {number} pointing
 * @returns {Leg}
 */
export function legTo(p, view, limb, toe, pointing) {
  const body = trunk(p, view);
  const way = side(view, limb);
  const foot = way * pointing;
  const ankle = along(toe, -footLength(view), foot);
  const found = reach(body.points['hip' + limb.charAt(1)], ankle, BONES.thigh, BONES.shank, way);
  const shank = found.direction + way * found.flexed;
  return {
    h: turned(way * (body.low + 180 - found.direction), 50),
    k: found.flexed,
    a: turned(90 - way * (shank - foot), 30),
  };
}
