/**
 * On the remote, while a class runs: what is so today. The refinement to look
 * for, and whether the class works without pictures of itself and without sound.
 *
 * Not here: the same for one station (station-card.js), or before the class
 * (start-form.js).
 */

import { refineChoice, refineChosen } from './refine-choice.js';
import { field, part } from './remote-parts.js';

/**
 * @typedef {import('./wire').ClassInfo} ClassInfo
 * @typedef {import('./wire').ClassChange} ClassChange
 */

export class Today {
  /**
   * @param {(id: string) => string} words
   * @param {(change: ClassChange, label: string) => void} change
   */
  constructor(words, change) {
    refineChoice(part('today-refine'), words, function (cue) {
      change({ change: 'refine', cue: cue }, words('live-today-refine'));
    });
    field('today-quiet').addEventListener('change', function () {
      change({ change: 'quiet', on: field('today-quiet').checked }, words('live-today-quiet'));
    });
  }

  /** @param {ClassInfo} info */
  heard(info) {
    part('today').hidden = info.class === null;
    if (info.class !== null) {
      refineChosen(part('today-refine'), info.class.refine);
      field('today-quiet').checked = info.class.quiet;
    }
  }
}
