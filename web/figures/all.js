/**
 * Every figure by its id. names.txt has the same ids for what is not a script;
 * a test compares.
 *
 * Not here: what a figure is called (web/words/, `live-figure-` and its id).
 */

import { apparatus } from './set-apparatus.js';
import { floor } from './set-floor.js';
import { people } from './set-people.js';
import { shapes } from './set-shapes.js';

/** @typedef {import('./motion.js').Figure} Figure */

/** @type {{[id: string]: Figure}} */
export const figures = Object.assign({}, shapes, floor, apparatus, people);

/** @type {string[]} */
export const names = Object.keys(figures);
