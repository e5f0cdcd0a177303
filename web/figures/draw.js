/**
 * Draws a figure into an SVG element: makes the lines once, and then only moves
 * them. Colour is the text's own (`currentColor`), so that chalk on slate and
 * ink on paper are the same drawing.
 *
 * Not here: what a figure does (motion.js and the set-*.js).
 */

import { pose, still } from './motion.js';
import { HALF_LINE, HEAD_RADIUS, along } from './skeleton.js';

/**
 * @typedef {import('./motion.js').Figure} Figure
 * @typedef {import('./motion.js').Prop} Prop
 * @typedef {import('./motion.js').Seen} Seen
 */

const SVG = 'http://www.w3.org/2000/svg';
const LINE = 2 * HALF_LINE;
/** The moving side. */
const HEAVY = 7.4;
/** What is on the far side, and the things in the gym, stand back. */
const FAR = '0.6';
const THING = '0.55';
/** Smooth enough for a slow movement, light enough for a small computer. */
const FRAME_MS = 40;

/** From far to near. */
const LIMBS = ['lF', 'aF', 'trunk', 'lN', 'aN'];

/** What is drawn as one line. @param {string} limb @param {Seen} seen */
function chain(limb, seen) {
  const end = limb.charAt(1);
  if (limb === 'trunk') {
    return ['hips', 'waist', 'chest', 'neck', 'head'];
  }
  const first = limb.charAt(0) === 'a' ? ['neck', 'shoulder', 'elbow', 'hand'] : ['hips', 'hip', 'knee', 'ankle', 'toe'];
  const names = seen.view === 'front' ? first : first.slice(1);
  return names.map(function (name) { return name === 'neck' || name === 'hips' ? name : name + end; });
}

/** @param {number} n */
function short(n) {
  return String(Math.round(n * 100) / 100);
}

/** @param {Seen} seen @param {[number, number]} point: in the drawing, where y grows downwards. */
function placed(seen, point) {
  return short(seen.at + seen.face * point[0]) + ' ' + short(-point[1]);
}

/**
 * The path of each line of a body.
 * @param {Seen} seen
 * @returns {{[limb: string]: string}}
 */
export function paths(seen) {
  /** @type {{[limb: string]: string}} */
  const all = {};
  for (const limb of LIMBS) {
    all[limb] = 'M' + chain(limb, seen).map(function (name) { return placed(seen, seen.points[name]); }).join('L');
  }
  const p = seen.stance;
  const aside = Math.sin(p.turn * Math.PI / 180);
  if (seen.view === 'front') {
    // A nose is seen from the front only beside the head.
    const tip = along(seen.points.head, (HEAD_RADIUS + 2.6) * aside, p.lean + p.neck + 90);
    all.nose = 'M' + placed(seen, seen.points.head) + 'L' + placed(seen, tip);
  } else {
    const facing = p.lean + p.curl / 2 + p.neck + 98;
    const from = along(seen.points.head, HEAD_RADIUS - 1, facing);
    all.nose = 'M' + placed(seen, from) + 'L' + placed(seen, along(seen.points.head, HEAD_RADIUS + 2.6, facing));
  }
  return all;
}

/** @param {string} name @param {{[attribute: string]: string}} attributes @param {Element} into */
function make(name, attributes, into) {
  const node = document.createElementNS(SVG, name);
  for (const attribute of Object.keys(attributes)) node.setAttribute(attribute, attributes[attribute]);
  into.appendChild(node);
  return node;
}

/**
 * A thing in the gym as plain lines and shapes.
 * @param {Prop} prop
 * @returns {{d: string, filled: boolean}}
 */
export function outline(prop) {
  const top = -prop.y - prop.h;
  const right = prop.x + prop.w;
  const block = 'M' + prop.x + ' ' + top + 'H' + right + 'V' + -prop.y + 'H' + prop.x + 'Z';
  switch (prop.kind) {
    case 'beam':
      // A slab on two feet.
      return { d: 'M' + prop.x + ' ' + top + 'H' + right + 'v6H' + prop.x + 'Z' + [prop.x + prop.w * 0.15, right - prop.w * 0.15].map(function (x) {
        return 'M' + (x - 2) + ' ' + (top + 5) + 'h4L' + (x + 6) + ' ' + -prop.y + 'h-12Z';
      }).join(''), filled: true };
    case 'chair':
      return { d: 'M' + prop.x + ' ' + (top - 22) + 'V' + -prop.y + 'M' + prop.x + ' ' + (top + 2) + 'H' + (right - 2) + 'V' + -prop.y, filled: false };
    case 'way':
      // An arrow along the floor.
      return { d: 'M' + prop.x + ' ' + -prop.y + 'H' + right + (prop.w < 0 ? 'm8 -8l-8 8l8 8' : 'm-8 -8l8 8l-8 8'), filled: false };
    case 'lift':
      return { d: 'M' + prop.x + ' ' + -prop.y + 'v' + -prop.h + (prop.h < 0 ? 'm-7 -7l7 7l7 -7' : 'm-7 7l7 -7l7 7'), filled: false };
    case 'turn': {
      // Most of a circle, over the top; to the left where its width is negative.
      const r = Math.abs(prop.w);
      const way = prop.w < 0 ? -1 : 1;
      return { d: 'M' + (prop.x - way * r) + ' ' + -prop.y + 'A' + r + ' ' + prop.h + ' 0 0 ' + (way > 0 ? 1 : 0) + ' ' + (prop.x + way * r) + ' ' + -prop.y + 'm' + -way * 9 + ' -5l' + way * 9 + ' 5l' + way * 6 + ' -8', filled: false };
    }
    case 'sound':
      return { d: [0, 1, 2].map(function (i) {
        const r = prop.w * (0.4 + 0.3 * i);
        return 'M' + (prop.x - r * 0.7) + ' ' + (-prop.y - r * 0.7) + 'A' + r + ' ' + r + ' 0 0 0 ' + (prop.x - r * 0.7) + ' ' + (-prop.y + r * 0.7);
      }).join(''), filled: false };
    case 'rug':
      return { d: block, filled: false };
    case 'screen':
      return { d: block + 'M' + (prop.x + prop.w / 2) + ' ' + -prop.y + 'V0', filled: false };
    case 'bar':
      return { d: 'M' + (prop.x - 6) + ' ' + (-prop.y) + 'a6 6 0 1 0 12 0a6 6 0 1 0 -12 0Z', filled: true };
    default:
      return { d: block, filled: true };
  }
}

/** @param {SVGElement} svg @param {Figure} figure @param {number} count of bodies @param {Figure['box']} box */
function build(svg, figure, count, box) {
  svg.setAttribute('viewBox', box[0] + ' ' + (-box[1] - box[3]) + ' ' + box[2] + ' ' + box[3]);
  while (svg.firstChild) svg.removeChild(svg.firstChild);
  const group = make('g', { fill: 'none', stroke: 'currentColor', 'stroke-linecap': 'round', 'stroke-linejoin': 'round', 'stroke-width': String(LINE) }, svg);
  if (figure.floor !== false) {
    make('path', { d: 'M' + (box[0] + 3) + ' 1.5H' + (box[0] + box[2] - 3), 'stroke-width': '3', 'stroke-opacity': THING }, group);
  }
  for (const prop of figure.props || []) {
    if (prop.still && figure.near !== box) continue;
    const drawn = outline(prop);
    make('path', drawn.filled
      ? { d: drawn.d, fill: 'currentColor', stroke: 'none', 'fill-opacity': THING }
      : { d: drawn.d, 'stroke-width': '4', 'stroke-opacity': THING }, group);
  }
  const whole = make('g', {}, group);
  /** @type {{[part: string]: Element}[]} */
  const parts = [];
  for (let i = 0; i < count; i += 1) {
    /** @type {{[part: string]: Element}} */
    const part = {};
    const front = figure.bodies[i].view === 'front';
    for (const limb of LIMBS) {
      const heavy = (figure.heavy || []).indexOf(limb) >= 0;
      part[limb] = make('path', { 'stroke-width': String(heavy ? HEAVY : LINE), 'stroke-opacity': !front && limb.charAt(1) === 'F' ? FAR : '1' }, whole);
    }
    part.nose = make('path', { 'stroke-width': '4' }, whole);
    part.head = make('circle', { r: String(HEAD_RADIUS), fill: 'currentColor', stroke: 'none' }, whole);
    parts.push(part);
  }
  return { whole: whole, parts: parts };
}

/** @type {WeakMap<SVGElement, {figure: Figure, box: Figure['box'], whole: Element, parts: {[part: string]: Element}[]}>} */
const drawn = new WeakMap();

/** @param {SVGElement} svg @param {Figure} figure @param {{bodies: Seen[], shown: number}} seen @param {Figure['box']} box */
function show(svg, figure, seen, box) {
  let known = drawn.get(svg);
  if (!known || known.figure !== figure || known.box !== box) {
    const built = build(svg, figure, seen.bodies.length, box);
    known = { figure: figure, box: box, whole: built.whole, parts: built.parts };
    drawn.set(svg, known);
  }
  known.whole.setAttribute('opacity', short(seen.shown));
  for (let i = 0; i < seen.bodies.length; i += 1) {
    const all = paths(seen.bodies[i]);
    const part = known.parts[i];
    for (const name of Object.keys(all)) part[name].setAttribute('d', all[name]);
    const head = placed(seen.bodies[i], seen.bodies[i].points.head).split(' ');
    part.head.setAttribute('cx', head[0]);
    part.head.setAttribute('cy', head[1]);
  }
}

/** Draws a figure as it is at a moment. @param {SVGElement} svg @param {Figure} figure @param {number} t_ms */
export function draw(svg, figure, t_ms) {
  show(svg, figure, pose(figure, t_ms), figure.box);
}

/** Draws a figure's still pose. @param {SVGElement} svg @param {Figure} figure */
export function drawStill(svg, figure) {
  show(svg, figure, still(figure), figure.near || figure.box);
}

/**
 * Lets a figure move until the returned function is called. Who asked their
 * system for less motion is shown the still pose.
 * @param {SVGElement} svg
 * @param {Figure} figure
 * @returns {() => void}
 */
export function play(svg, figure) {
  if (figure.loop === 'none' || matchMedia('(prefers-reduced-motion: reduce)').matches) {
    drawStill(svg, figure);
    return function () {};
  }
  let began = -1;
  let last = -FRAME_MS;
  let going = 0;
  /** @param {number} now */
  const step = function (now) {
    began = began < 0 ? now : began;
    if (now - last >= FRAME_MS) {
      last = now;
      draw(svg, figure, now - began);
    }
    going = requestAnimationFrame(step);
  };
  going = requestAnimationFrame(step);
  return function () { cancelAnimationFrame(going); };
}
