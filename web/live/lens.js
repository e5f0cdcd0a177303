/**
 * Opens a device's camera, without its microphone, and says why not.
 *
 * Not here: what becomes of its pictures.
 */

/** @typedef {'denied' | 'no-camera' | 'insecure'} LensProblem */

/** Where the choice is kept, on the device. */
const KEPT = 'afterturn-lens';

/**
 * What is asked of the browser: pictures alone.
 * @param {string | null} lens a lens by its id; the one at the back without
 * @returns {MediaStreamConstraints}
 */
export function wish(lens) {
  const size = { width: { ideal: 1280 }, height: { ideal: 720 }, frameRate: { ideal: 30, max: 30 } };
  const which = lens === null ? { facingMode: { ideal: 'environment' } } : { deviceId: { exact: lens } };
  return { audio: false, video: Object.assign(which, size) };
}

/**
 * The word for what went wrong (W3C Media Capture and Streams, §10.3.4's names).
 * @param {unknown} problem
 * @returns {LensProblem}
 */
export function problemOf(problem) {
  const name = problem instanceof Error || typeof DOMException !== 'undefined' && problem instanceof DOMException ? problem.name : '';
  return name === 'NotAllowedError' || name === 'SecurityError' ? 'denied' : 'no-camera';
}

/**
 * @param {string | null} lens
 * @returns {Promise<MediaStream>} refused with a {@link LensProblem}
 */
export function openLens(lens) {
  const devices = navigator.mediaDevices;
  if (devices === undefined) {
    return Promise.reject('insecure');
  }
  return devices.getUserMedia(wish(lens)).catch(function (problem) {
    // A lens that was there last time and is not now is no reason to have none.
    if (lens !== null && problemOf(problem) === 'no-camera') {
      return devices.getUserMedia(wish(null));
    }
    throw problem;
  }).catch(function (problem) { throw problemOf(problem); });
}

/** The lens that was chosen last. @returns {string | null} */
export function keptLens() {
  try {
    return localStorage.getItem(KEPT);
  } catch (problem) {
    return null; // A browser that keeps nothing.
  }
}

/** @param {string} lens */
export function keepLens(lens) {
  try {
    localStorage.setItem(KEPT, lens);
  } catch (problem) {
    // It is chosen again next time.
  }
}
