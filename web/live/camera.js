/**
 * The page of a tablet or phone that is a station's camera: opens a lens, shows
 * what it sees, publishes it, says how it stands; locks, so that a child's hand
 * changes nothing; keeps the outline of the mat for tomorrow.
 *
 * Not here: the decisions (publisher.js, hold.js, outline.js, lens.js).
 */

import { Hold } from './hold.js';
import { keepLens, keptLens, openLens } from './lens.js';
import { Looks, fromText, lines, sizeFor, toText } from './outline.js';
import { part, text } from './page-parts.js';
import { Publisher, thisBrowser } from './publisher.js';
import { Awake, watchBattery } from './device.js';
import { wordsFrom } from './words.js';

/** How often what stands still is looked at. */
const LOOK_MS = 500;
const HOLD_STEP_MS = 50;
/** Chalk, as the page's letters. */
const CHALK = [246, 243, 234, 220];

class CameraPage {
  constructor() {
    this.page = part('camera');
    this.words = wordsFrom(part('words').textContent || '{}');
    this.video = /** @type {HTMLVideoElement} */ (part('own'));
    this.outline = /** @type {HTMLCanvasElement} */ (part('outline'));
    this.lenses = /** @type {HTMLSelectElement} */ (part('lens'));
    this.station = this.page.getAttribute('data-station') || '';
    this.publisher = new Publisher(this.station, thisBrowser(), (word, standing) => { this.said(word, standing); });
    this.awake = new Awake(part('awake'), this.words);
    this.hold = new Hold();
    this.looks = new Looks();
    /** @type {MediaStream | null} */
    this.stream = null;
    this.canvas = document.createElement('canvas');
    part('start').addEventListener('click', () => { this.open(keptLens()); });
    part('stop').addEventListener('click', () => { this.stop(); });
    part('lock').addEventListener('click', () => { this.lock(); });
    this.lenses.addEventListener('change', () => { keepLens(this.lenses.value); this.open(this.lenses.value); });
    this.holds(part('unlock'));
    setInterval(() => { this.look(); }, LOOK_MS);
    setInterval(() => { this.held(); }, HOLD_STEP_MS);
    watchBattery((percent, charging) => { this.battery(percent, charging); });
    // A page that was publishing and was opened anew goes on by itself.
    if (sessionStorage.getItem('afterturn-camera') === this.station) {
      this.open(keptLens());
    }
  }

  /** @param {'start' | 'run' | 'locked'} what */
  shows(what) {
    this.page.setAttribute('data-shows', what);
    part('start-part').hidden = what !== 'start';
    part('run-part').hidden = what !== 'run';
    part('locked-part').hidden = what !== 'locked';
  }

  /** @param {string | null} lens */
  open(lens) {
    text('status', this.words('live-publish-opening'));
    // Some devices have one lens open at a time.
    this.close();
    openLens(lens).then((stream) => {
      const track = stream.getVideoTracks()[0];
      this.stream = stream;
      this.video.srcObject = stream;
      this.video.play().catch(function () { /* It plays when it may. */ });
      // Somebody unplugged it, or the system took it away.
      track.addEventListener('ended', () => { this.open(null); });
      sessionStorage.setItem('afterturn-camera', this.station);
      if (this.page.getAttribute('data-shows') === 'start') { this.shows('run'); }
      this.awake.want(true);
      this.publisher.start(track);
      return this.list(track);
    }).catch((why) => {
      this.stop();
      text('status', this.words('live-publish-' + (typeof why === 'string' ? why : 'no-camera')));
    });
  }

  close() {
    if (this.stream !== null) {
      this.stream.getTracks().forEach(function (track) { track.stop(); });
    }
    this.stream = null;
  }

  stop() {
    sessionStorage.removeItem('afterturn-camera');
    this.publisher.stop();
    this.close();
    this.video.srcObject = null;
    this.outline.hidden = true;
    this.awake.want(false);
    part('warning').hidden = true;
    text('status', '');
    this.shows('start');
    part('start').focus();
  }

  /** The lenses there are; their names are known once one is open. @param {MediaStreamTrack} track */
  list(track) {
    return navigator.mediaDevices.enumerateDevices().then((all) => {
      const own = track.getSettings().deviceId;
      this.lenses.textContent = '';
      all.filter((one) => one.kind === 'videoinput').forEach((one, i) => {
        const option = document.createElement('option');
        option.value = one.deviceId;
        option.textContent = one.label || this.words('live-publish-lens', { number: i + 1 });
        option.selected = one.deviceId === own;
        this.lenses.appendChild(option);
      });
    });
  }

  /**
   * @param {import('./publisher.js').Word} word
   * @param {import('./wire').PublisherStanding | null} standing
   */
  said(word, standing) {
    const sentence = this.words('live-publish-' + word);
    if (part('status').textContent !== sentence) { text('status', sentence); }
    this.page.setAttribute('data-word', word);
    const sight = standing === null ? null : standing.sight;
    const moved = standing !== null && standing.moved;
    const warning = moved ? this.words('live-publish-moved') : sight === null ? '' : this.words('live-sight-' + sight.replace(/_/g, '-'));
    if (part('warning').textContent !== warning) { text('warning', warning); }
    part('warning').hidden = warning === '';
  }

  lock() {
    this.shows('locked');
    part('unlock').focus();
    const whole = document.documentElement;
    if (whole.requestFullscreen) { whole.requestFullscreen().catch(function () { /* It stays as it is. */ }); }
    // A swipe back stays on this page.
    history.pushState(null, '', location.href);
    this.stay = () => { history.pushState(null, '', location.href); };
    addEventListener('popstate', this.stay);
  }

  unlock() {
    this.shows('run');
    if (this.stay) { removeEventListener('popstate', this.stay); }
    if (document.fullscreenElement) { document.exitFullscreen().catch(function () { /* Nor is it now. */ }); }
    part('lock').focus();
  }

  /** @param {HTMLElement} button */
  holds(button) {
    const down = (/** @type {Event} */ event) => { event.preventDefault(); this.hold.down(performance.now()); };
    const up = () => { this.hold.up(); };
    button.addEventListener('pointerdown', down);
    ['pointerup', 'pointerleave', 'pointercancel', 'blur', 'keyup'].forEach((name) => { button.addEventListener(name, up); });
    button.addEventListener('keydown', (event) => {
      if (event.key === ' ' || event.key === 'Enter') { down(event); }
    });
    button.addEventListener('contextmenu', function (event) { event.preventDefault(); });
  }

  held() {
    const share = this.hold.share(performance.now());
    part('held').style.width = share * 100 + '%';
    if (share >= 1) {
      this.hold.up();
      this.unlock();
    }
  }

  /** @param {number} percent @param {boolean} charging */
  battery(percent, charging) {
    part('battery').hidden = false;
    const low = percent <= 20 && !charging;
    text('battery', this.words(low ? 'live-publish-battery-low' : 'live-publish-battery', { percent: percent }));
  }

  /** Shows the outline of last time while the device is aimed, and learns today's once it is locked. */
  look() {
    const video = this.video;
    const running = this.stream !== null && video.videoWidth > 0;
    const locked = this.page.getAttribute('data-shows') === 'locked';
    const size = sizeFor(video.videoWidth, video.videoHeight);
    const kept = running && !locked ? fromText(localStorage.getItem(this.key())) : null;
    // Held the other way it would be another picture's.
    const fits = kept !== null && kept.width === size.width && kept.height === size.height;
    this.outline.hidden = !fits;
    part('aim').hidden = !fits;
    if (kept !== null && fits) { this.draw(kept); }
    if (running && locked) {
      const lasting = this.looks.add(this.seen(size), size.width);
      if (lasting !== null) { localStorage.setItem(this.key(), toText(lasting, size.width)); }
    }
  }

  key() {
    return 'afterturn-outline-' + this.station;
  }

  /** The lines there are now; the picture itself is gone with the call. @param {{width: number, height: number}} size */
  seen(size) {
    this.canvas.width = size.width;
    this.canvas.height = size.height;
    const brush = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext('2d', { willReadFrequently: true }));
    brush.drawImage(this.video, 0, 0, size.width, size.height);
    const data = brush.getImageData(0, 0, size.width, size.height).data;
    brush.clearRect(0, 0, size.width, size.height);
    const grey = new Uint8Array(size.width * size.height);
    for (let i = 0; i < grey.length; i += 1) { grey[i] = (data[i * 4] + 2 * data[i * 4 + 1] + data[i * 4 + 2]) >> 2; }
    return lines(grey, size.width, size.height);
  }

  /** @param {{found: Uint8Array, width: number, height: number}} kept */
  draw(kept) {
    this.outline.width = kept.width;
    this.outline.height = kept.height;
    const brush = /** @type {CanvasRenderingContext2D} */ (this.outline.getContext('2d'));
    const image = brush.createImageData(kept.width, kept.height);
    kept.found.forEach(function (line, i) { if (line) { image.data.set(CHALK, i * 4); } });
    brush.putImageData(image, 0, 0);
  }
}

const page = new CameraPage();
// For a technician at the console; nothing on the page uses it.
Object.defineProperty(window, 'afterturn', { value: page });
