/**
 * A figure in time: which stance it has at a moment, between its key poses.
 * Pure functions of the time.
 *
 * A key pose gives angles, and may hold hands and feet to places (`at`, `toe`):
 * two keys in a row that hold the same place keep it held on the way between
 * them, to the bone's width. `on` holds any other point of the body to a place
 * by moving all of it; `rest` lets the whole body lie on a surface.
 *
 * Not here: pictures (draw.js), the figures themselves (the set-*.js).
 */

import { armTo, HALF_LINE, HEAD_RADIUS, legTo, points } from './skeleton.js';

/**
 * @typedef {import('./skeleton.js').Point} Point
 * @typedef {import('./skeleton.js').Points} Points
 * @typedef {import('./skeleton.js').Stance} Stance
 * @typedef {import('./skeleton.js').View} View
 * @typedef {[number, number] | {at: Point}} ArmPose shoulder and elbow, or the hand held somewhere
 * @typedef {[number, number, number] | {toe: Point, to: number}} LegPose hip, knee and ankle, or the toes held
 *   somewhere with the foot pointing `to`
 * @typedef {'soft' | 'even' | 'rise' | 'fall' | 'start' | 'stop'} Ease
 * @typedef {{x?: number, y?: number, on?: [string, Point], rest?: number, lean?: number, curl?: number, neck?: number, turn?: number,
 *   a?: ArmPose, aN?: ArmPose, aF?: ArmPose, l?: LegPose, lN?: LegPose, lF?: LegPose,
 *   hold?: number, ms?: number, ease?: Ease}} Key
 *   `hold` is how long it is kept, `ms` how long the way to the next takes
 * @typedef {{face?: 1 | -1, at?: number, view?: View, keys: Key[]}} Body `face` -1 looks the other way; `at` is where its x begins
 * @typedef {{kind: 'mat' | 'box' | 'wall' | 'bar' | 'rug' | 'beam' | 'bench' | 'chair' | 'screen' | 'sound' | 'lift' | 'turn' | 'way',
 *   x: number, y: number, w: number, h: number, still?: boolean}} Prop left, bottom, width, height; `still` where
 *   it is for the still pose only
 * @typedef {[number, number, number, number]} Box left, bottom, width, height
 * @typedef {{bodies: Body[], still: number, loop: 'round' | 'again' | 'none', box: Box, near?: Box,
 *   props?: Prop[], heavy?: string[], floor?: boolean}} Figure
 *   `still` is the key that stands for all of it; `box` is what
 *   all of it keeps within, `near` what the still pose does, where a figure travels
 * @typedef {{stance: Stance, points: Points, view: View, face: 1 | -1, at: number}} Seen
 */

/** How long a figure that begins again takes to fade out, and in. */
export const FADE_MS = 250;

/** @type {{[ease in Ease]: (f: number) => number}} */
const EASES = {
  soft: function (f) { return f * f * (3 - 2 * f); },
  even: function (f) { return f; },
  // Up against gravity, down with it; for everything of the body at once.
  rise: function (f) { return f * (2 - f); },
  fall: function (f) { return f * f; },
  start: function (f) { return f * f * (2 - f); },
  stop: function (f) { return f + f * f - f * f * f; },
};

/** @param {Key} key @param {'a' | 'l'} kind @param {string} limb @returns {any} */
function limbOf(key, kind, limb) {
  const own = /** @type {any} */ (key)[limb];
  return own || key[kind] || (kind === 'a' ? [0, 0] : [0, 0, 0]);
}

/** @param {Stance} stance @param {View} view @param {string} name @param {Point} place */
function holdTo(stance, view, name, place) {
  const now = points(stance, view)[name];
  stance.x += place[0] - now[0];
  stance.y += place[1] - now[1];
}

/** Lets a body down, or lifts it, until its lowest point lies on a surface. @param {Stance} stance @param {View} view @param {number} surface @param {boolean} [onlyUp] */
function lay(stance, view, surface, onlyUp) {
  const all = points(stance, view);
  let lowest = all.head[1] - HEAD_RADIUS;
  for (const name of Object.keys(all)) {
    lowest = name === 'head' ? lowest : Math.min(lowest, all[name][1] - HALF_LINE);
  }
  stance.y += onlyUp ? Math.max(0, surface - lowest) : surface - lowest;
}

/** Moves the limbs that are held to where they are held. @param {Stance} stance @param {View} view @param {(limb: string, kind: 'a' | 'l') => any} held */
function reachAll(stance, view, held) {
  for (const limb of /** @type {('aN' | 'aF')[]} */ (['aN', 'aF'])) {
    const pose = held(limb, 'a');
    if (pose) stance[limb] = armTo(stance, view, limb, pose.at);
  }
  for (const limb of /** @type {('lN' | 'lF')[]} */ (['lN', 'lF'])) {
    const pose = held(limb, 'l');
    if (pose) stance[limb] = legTo(stance, view, limb, pose.toe, pose.to);
  }
}

/** A key pose as plain angles. @param {Key} key @param {View} view @returns {Stance} */
export function solve(key, view) {
  /** @param {string} limb */
  const arm = function (limb) {
    const pose = limbOf(key, 'a', limb);
    return !Array.isArray(pose) ? { s: 0, e: 0 } : { s: pose[0], e: pose[1] };
  };
  /** @param {string} limb */
  const leg = function (limb) {
    const pose = limbOf(key, 'l', limb);
    return !Array.isArray(pose) ? { h: 0, k: 0, a: 0 } : { h: pose[0], k: pose[1], a: pose[2] };
  };
  /** @type {Stance} */
  const stance = {
    x: key.x || 0, y: key.y || 0, lean: key.lean || 0, curl: key.curl || 0, neck: key.neck || 0, turn: key.turn || 0,
    aN: arm('aN'), aF: arm('aF'), lN: leg('lN'), lF: leg('lF'),
  };
  if (key.on) holdTo(stance, view, key.on[0], key.on[1]);
  reachAll(stance, view, function (limb, kind) {
    const pose = limbOf(key, kind, limb);
    return Array.isArray(pose) ? null : pose;
  });
  if (key.rest !== undefined) lay(stance, view, key.rest);
  return stance;
}

/** @param {any} a @param {any} b @param {number} f @returns {any} */
function between(a, b, f) {
  if (typeof a === 'number') return a + (b - a) * f;
  /** @type {any} */
  const mixed = Array.isArray(a) ? [] : {};
  for (const part of Object.keys(a)) mixed[part] = between(a[part], b[part], f);
  return mixed;
}

/** @param {Key} a @param {Key} b @param {View} view @param {number} f */
function blend(a, b, view, f) {
  /** @type {Stance} */
  const stance = between(solve(a, view), solve(b, view), f);
  if (a.on && b.on && a.on[0] === b.on[0]) holdTo(stance, view, a.on[0], between(a.on[1], b.on[1], f));
  reachAll(stance, view, function (limb, kind) {
    const from = limbOf(a, kind, limb);
    const to = limbOf(b, kind, limb);
    return Array.isArray(from) || Array.isArray(to) ? null : between(from, to, f);
  });
  if (a.rest !== undefined && b.rest !== undefined) lay(stance, view, between(a.rest, b.rest, f));
  else if (a.rest !== undefined || b.rest !== undefined) lay(stance, view, a.rest === undefined ? b.rest || 0 : a.rest, true);
  return stance;
}

/** How long one round takes. @param {Figure} figure */
export function period(figure) {
  const keys = figure.bodies[0].keys;
  let sum = 0;
  for (let i = 0; i < keys.length; i += 1) {
    sum += keys[i].hold || 0;
    if (i < keys.length - 1 || figure.loop === 'round') sum += keys[i].ms || 0;
  }
  return sum;
}

/** Which keys a moment lies between. @param {Figure} figure @param {Body} body @param {number} t */
export function moment(figure, body, t) {
  const keys = body.keys;
  let left = t;
  for (let i = 0; i < keys.length; i += 1) {
    const hold = keys[i].hold || 0;
    const ms = keys[i].ms || 0;
    if (left < hold || (i === keys.length - 1 && figure.loop !== 'round')) return { from: i, to: i, f: 0 };
    left -= hold;
    if (left < ms) return { from: i, to: (i + 1) % keys.length, f: EASES[keys[i].ease || 'soft'](left / ms) };
    left -= ms;
  }
  return { from: 0, to: 0, f: 0 };
}

/** The time at which a figure is in its still pose. @param {Figure} figure */
export function stillAt(figure) {
  const keys = figure.bodies[0].keys;
  let t = 0;
  for (let i = 0; i < figure.still; i += 1) t += (keys[i].hold || 0) + (keys[i].ms || 0);
  return t;
}

/**
 * Every body of a figure at a moment.
 * @param {Figure} figure
 * @param {number} t_ms since any start; a loop goes on for ever
 * @returns {{bodies: Seen[], shown: number}} `shown` is 0 where a figure that begins again is not there
 */
export function pose(figure, t_ms) {
  const whole = period(figure);
  const t = whole > 0 ? ((t_ms % whole) + whole) % whole : 0;
  const bodies = figure.bodies.map(function (body) {
    const view = body.view || 'side';
    const now = moment(figure, body, t);
    const from = body.keys[now.from];
    const stance = now.f === 0 ? solve(from, view) : blend(from, body.keys[now.to], view, now.f);
    return { stance: stance, points: points(stance, view), view: view, face: body.face || 1, at: body.at || 0 };
  });
  const shown = figure.loop === 'again' ? Math.max(0, Math.min(1, t / FADE_MS, (whole - t) / FADE_MS)) : 1;
  return { bodies: bodies, shown: shown };
}

/** The still pose that stands for a figure. @param {Figure} figure */
export function still(figure) {
  const view = figure.bodies.map(function (body) {
    const way = body.view || 'side';
    const stance = solve(body.keys[figure.still], way);
    return { stance: stance, points: points(stance, way), view: way, face: body.face || /** @type {1} */ (1), at: body.at || 0 };
  });
  return { bodies: view, shown: 1 };
}
