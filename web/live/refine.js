/**
 * The refinements of the day a teacher can pick: one small thing that suits every
 * station, each with a figure and a few words.
 *
 * Not here: picking one (refine-choice.js), and the cues of a unit.
 */

/** @typedef {import('./wire').Refinement} Refinement */

/** By its name: the figure, and the sentence. @type {{[name in Refinement]: [string, string]}} */
export const REFINEMENTS = {
  'hold_still': ['stick-landing', 'live-refine-hold-still'],
  'land_softly': ['soft-landing', 'live-refine-land-softly'],
  'stretch': ['star', 'live-refine-stretch'],
  'small': ['tuck', 'live-refine-small'],
  'one_spot': ['one-leg-balance', 'live-refine-one-spot'],
  'tall': ['stand', 'live-refine-tall'],
};

/** In the order they are offered. */
export const NAMES = /** @type {Refinement[]} */ (Object.keys(REFINEMENTS));

/**
 * What to show of it; one this page does not know is not shown.
 * @param {Refinement | null} name
 * @returns {[string, string] | null}
 */
export function refinementOf(name) {
  return name === null ? null : REFINEMENTS[name] || null;
}
