/**
 * Draws the bars over the whole screen, each time with the moment at which it
 * will be seen.
 *
 * Not here: what they are and when they change (bars.js), and whether they may
 * be shown (cover.js).
 */

import { ACROSS, Changes, FOOT, Refresh, TOP, columns } from './bars.js';

/** The page's own chalk and slate. */
const LIGHT = '#f6f3ea';
const DARK = '#14181c';

export class Screen {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {(pageMs: number) => number} serverUs
   */
  constructor(canvas, serverUs) {
    this.canvas = canvas;
    this.serverUs = serverUs;
    this.shown = false;
    this.changes = new Changes();
    this.refresh = new Refresh();
    this.frame = (/** @type {number} */ frameMs) => { this.look(frameMs); };
  }

  /** @param {boolean} shown */
  show(shown) {
    if (shown && !this.shown) {
      this.canvas.hidden = false;
      this.changes = new Changes();
      this.refresh = new Refresh();
      requestAnimationFrame(this.frame);
    } else if (!shown && this.shown) {
      this.canvas.hidden = true;
    }
    this.shown = shown;
  }

  /** @param {number} frameMs */
  look(frameMs) {
    if (!this.shown) {
      return;
    }
    // What is drawn now is on the glass with the next refresh.
    const glassMs = frameMs + this.refresh.frame(frameMs);
    if (this.changes.due(frameMs)) {
      this.draw(Math.round(this.serverUs(glassMs) / 1000));
    }
    requestAnimationFrame(this.frame);
  }

  /** @param {number} timeMs */
  draw(timeMs) {
    const canvas = this.canvas;
    const scale = window.devicePixelRatio || 1;
    const width = Math.round(canvas.clientWidth * scale);
    const height = Math.round(canvas.clientHeight * scale);
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
    const pen = canvas.getContext('2d');
    if (pen === null) {
      return;
    }
    pen.fillStyle = DARK;
    pen.fillRect(0, 0, width, height);
    pen.fillStyle = LIGHT;
    const top = Math.round(TOP * height);
    const foot = Math.round(FOOT * height);
    columns(timeMs).forEach(function (light, i) {
      if (light) {
        const from = Math.round(i * width / ACROSS);
        pen.fillRect(from, top, Math.round((i + 1) * width / ACROSS) - from, foot - top);
      }
    });
    // For whoever looks at the page from outside.
    canvas.setAttribute('data-time', String(timeMs));
  }
}
