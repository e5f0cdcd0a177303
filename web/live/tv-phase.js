/**
 * Draws what a station's TV shows of the class beside, or instead of, the sheet.
 *
 * Not here: what that is (phase.js).
 */

import { leftMs } from './class.js';
import { showFigure } from './figure.js';
import { groupMark, stationMark } from './mark.js';
import { part, text } from './page-parts.js';
import { headingOf, sceneOf, shareLeft } from './phase.js';
import { slice } from './sheet.js';
import { drawn, sign } from './signs.js';

/** @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words */

export class TvPhase {
  constructor() {
    this.drawn = '';
    this.left = '';
    this.scene = sceneOf(null, null);
  }

  /**
   * @param {import('./wire').ScreenClass | null} c
   * @param {import('./wire').Sheet | null} sheet
   * @param {number | null} nowUs
   * @param {Words} words
   */
  put(c, sheet, nowUs, words) {
    const scene = sceneOf(c, sheet);
    this.scene = scene;
    const time = c === null ? null : c.time;
    this.disc(time, nowUs);
    const key = JSON.stringify([scene, c !== null && c.closed, sheet && [sheet.mark, sheet.view, sheet.language]]);
    if (key === this.drawn) {
      return;
    }
    this.drawn = key;
    part('tv').setAttribute('data-scene', scene.mode);
    part('tv').setAttribute('data-closed', c !== null && c.time !== null && c.closed ? 'yes' : 'no');
    const away = scene.mode === 'turn';
    part('scene').hidden = away;
    part('scene-aside').hidden = away;
    sign(part('sign'), away ? scene.sign : null);
    sign(part('scene-sign'), away ? null : scene.sign);
    text('scene-heading', headingOf(scene, words));
    text('scene-reset', scene.reset);
    today(scene.mode === 'closed' ? null : scene.today, words);
    if (sheet !== null) {
      body(scene, sheet, words);
    }
    roomy(part('scene'));
  }

  /** @param {import('./wire').ClassTime | null} time @param {number | null} nowUs */
  disc(time, nowUs) {
    const left = time === null ? null : shareLeft(time, leftMs(time, nowUs));
    const path = left === null ? '' : slice(left);
    if (path !== this.left) {
      this.left = path;
      part('scene-left').setAttribute('d', path);
    }
  }
}

/**
 * @param {import('./phase.js').Scene} scene
 * @param {import('./wire').Sheet} sheet
 * @param {Words} words
 */
function body(scene, sheet, words) {
  const place = part('scene-body');
  place.textContent = '';
  if (scene.mode === 'walk') {
    place.setAttribute('data-rows', String(scene.rows.length));
    for (const row of scene.rows) {
      const way = [row.groups.map(groupMark), [stationMark(row.from), drawn('arrow')]];
      const to = row.to === null ? figure('sit', 'to-rest') : stationMark(row.to);
      place.appendChild(line('way', way[0].concat(way[1], [to])));
    }
  } else if (scene.steps.length > 0) {
    for (const [id, sentence] of scene.steps) {
      const words_ = document.createElement('p');
      words_.textContent = sentence === '' ? '' : words(sentence);
      place.appendChild(line('step', [figure(id, 'does')].concat(sentence === '' ? [] : [words_])));
    }
  } else if (scene.mode !== 'turn') {
    const own = [stationMark(sheet.mark)].concat(scene.here.map(groupMark));
    place.appendChild(line('own', scene.mode === 'rest' ? own.concat([figure('sit-and-watch', 'does')])
      : scene.mode === 'gather' ? own.concat([figure('line-up', 'does')]) : own));
  }
  const coming = part('coming');
  coming.textContent = '';
  const who = scene.mode === 'briefing' ? scene.here : scene.mode === 'walk' ? scene.coming : [];
  if (who.length > 0) {
    who.map(groupMark).concat([drawn('arrow'), stationMark(sheet.mark)]).forEach(function (one) { coming.appendChild(one); });
  }
}

/** What to look for today. @param {[string, string] | null} shown @param {Words} words */
function today(shown, words) {
  part('tv').setAttribute('data-today', shown === null ? 'no' : 'yes');
  part('scene-today').hidden = shown === null;
  showFigure(part('scene-today-figure'), shown === null ? null : shown[0]);
  text('scene-today-words', shown === null ? '' : words(shown[1]));
}

/** @param {string} name @param {Element[]} parts */
function line(name, parts) {
  const made = document.createElement('div');
  made.className = name;
  parts.forEach(function (one) { made.appendChild(one); });
  return made;
}

/** @param {string} id @param {string} name @returns {Element} */
function figure(id, name) {
  const place = document.createElement('div');
  place.className = name;
  showFigure(place, id);
  return place;
}

/** What has no room goes: the marks before the words. @param {HTMLElement} scene */
function roomy(scene) {
  scene.setAttribute('data-tight', '');
  const full = function () { return !scene.hidden && scene.scrollHeight > scene.clientHeight + 1; };
  if (full()) {
    scene.setAttribute('data-tight', 'small');
  }
  if (full()) {
    scene.setAttribute('data-tight', 'words');
  }
}
