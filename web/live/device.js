/**
 * What a page asks of the device it runs on: to keep its screen on, and how full
 * its battery is. Both are missing in some browsers.
 *
 * Not here: cameras.
 */

/** Keeps the screen on while that is wanted, and says where it cannot. */
export class Awake {
  /** @param {HTMLElement} place @param {(id: string) => string} words */
  constructor(place, words) {
    this.place = place;
    this.words = words;
    this.wanted = false;
    /** @type {WakeLockSentinel | null} */
    this.lock = null;
    // A browser lets go of it whenever the page is not seen.
    document.addEventListener('visibilitychange', () => { this.ask(); });
  }

  /** @param {boolean} wanted */
  want(wanted) {
    this.wanted = wanted;
    this.ask();
  }

  ask() {
    if (!this.wanted) {
      if (this.lock !== null) { this.lock.release().catch(function () { /* It is gone. */ }); }
      this.lock = null;
      this.place.hidden = true;
      return;
    }
    if (document.visibilityState !== 'visible') {
      return;
    }
    const cannot = () => {
      this.place.textContent = this.words('live-publish-screen');
      this.place.hidden = false;
    };
    if (!('wakeLock' in navigator)) {
      cannot();
      return;
    }
    navigator.wakeLock.request('screen').then((lock) => {
      this.lock = lock;
      this.place.hidden = true;
    }).catch(cannot);
  }
}

/**
 * Tells how full the battery is, where the browser does.
 * @param {(percent: number, charging: boolean) => void} tell
 */
export function watchBattery(tell) {
  const device = /** @type {{getBattery?: () => Promise<any>}} */ (/** @type {unknown} */ (navigator));
  if (typeof device.getBattery !== 'function') {
    return;
  }
  device.getBattery().then(function (battery) {
    const say = function () { tell(Math.round(battery.level * 100), battery.charging); };
    battery.addEventListener('levelchange', say);
    battery.addEventListener('chargingchange', say);
    say();
  }).catch(function () { /* Then it is not shown. */ });
}
