// What goes wrong before a screen, and how it is put right again. Each fault
// makes its own trouble and says when the input was good again.
//
// Not here: what a screen has to show afterwards (back.mjs).

import * as stage from '../stage.mjs';

const HOUR_MS = 3600000;
/** The camera's own faults come this long after its first watcher: a browser has its picture by then. */
export const QUIRK_AT_S = 18;
/** Between the line that the server is up and its first look at the camera. */
const FIRST_LOOK_MS = 1000;

/** Gives the page a clock that is wrong by so much. Runs inside the page. */
function wrongClock(by_ms) {
  if (window.clockOff_ms === undefined) {
    const Right = Date;
    const origin_ms = performance.timeOrigin;
    window.Date = class extends Right {
      constructor(...parts) {
        if (parts.length > 0) super(...parts);
        else super(Right.now() + window.clockOff_ms);
      }

      static now() {
        return Right.now() + window.clockOff_ms;
      }
    };
    Object.defineProperty(performance, 'timeOrigin', { get: () => origin_ms + window.clockOff_ms });
  }
  window.clockOff_ms = by_ms;
}

/** A habit of the camera that shows at {@link QUIRK_AT_S} and is over `lasts_s` later. */
function habit(name, quirks, { lasts_s = 0, ...expected } = {}) {
  return {
    name,
    quirks,
    ...expected,
    async make({ serving_ms }) {
      const good_ms = serving_ms + FIRST_LOOK_MS + (QUIRK_AT_S + lasts_s) * 1000;
      await stage.sleep(good_ms - Date.now());
      return good_ms;
    },
  };
}

/**
 * @typedef {object} Fault
 * @property {string} name
 * @property {string[]} [quirks] of the camera
 * @property {string} [init] what runs in the page before its own script, where the engine can do that
 * @property {number} [hole_ms] at least this much must be missing on the glass, or the fault never happened
 * @property {number} [width_px] how wide the picture is afterwards
 * @property {(set: {camera: any, server: any, stations: any[], screen: any, serving_ms: number}) => Promise<number>} make
 *   does it, mends it, and says when
 */

/** @type {Fault[]} */
export const faults = [
  habit('loss-short', [`drop=${QUIRK_AT_S}-${QUIRK_AT_S + 0.2}`], { lasts_s: 0.2, hole_ms: 150 }),
  // Shorter than what the server takes for a stall.
  habit('loss', [`drop=${QUIRK_AT_S}-${QUIRK_AT_S + 1.2}`], { lasts_s: 1.2, hole_ms: 1000 }),
  habit('loss-rare-keyframes', ['gop-4s', `drop=${QUIRK_AT_S}-${QUIRK_AT_S + 0.2}`], { lasts_s: 0.2, hole_ms: 150 }),
  {
    name: 'stall',
    hole_ms: 2000,
    async make({ camera }) {
      camera.child.kill('SIGSTOP');
      await stage.sleep(4000);
      camera.child.kill('SIGCONT');
      return Date.now();
    },
  },
  {
    name: 'camera-restart',
    hole_ms: 2000,
    async make(set) {
      await stage.end(set.camera.child, 'SIGKILL');
      await stage.sleep(3000);
      set.camera = await stage.startCamera(set.camera.port);
      return Date.now();
    },
  },
  habit('back-step', [`back-step=50@${QUIRK_AT_S}`]),
  habit('back-step-long', [`back-step=3000@${QUIRK_AT_S}`]),
  habit('size-change', [`size-change@${QUIRK_AT_S}`], { width_px: 640 }),
  {
    name: 'wrong-clock',
    init: `(${wrongClock})(${3 * HOUR_MS});`,
    async make({ screen }) {
      await screen.evaluate(`(${wrongClock})(${-2 * HOUR_MS})`);
      return Date.now();
    },
  },
  {
    name: 'server-restart',
    hole_ms: 2000,
    async make(set) {
      await stage.end(set.server.child, 'SIGKILL');
      await stage.sleep(3000);
      const { port, folder } = set.server;
      set.server = await stage.startServer(set.stations, { port, folder });
      return Date.now();
    },
  },
];
