/**
 * A station's TV page: brings the link, the buffer, the player and the cover
 * together.
 *
 * Not here: the decisions. They are in cover.js, feed.js, pace.js, regulator.js
 * and wants.js, which know no page.
 */

import { readSegment } from './boxes.js';
import { hidingHold, nextLine, stayOf, timeLine } from './class.js';
import { putCard } from './tv-card.js';
import { cover } from './cover.js';
import { Feed } from './feed.js';
import { listenToKeys } from './keys.js';
import { Link } from './link.js';
import { part, reloadIfUnknown, text } from './page-parts.js';
import { againNeedsWant, dueUs, goneBy, paceOf, turning } from './pace.js';
import { TvPhase } from './tv-phase.js';
import { Player } from './player.js';
import { Screen } from './screen.js';
import { Source } from './source.js';
import { delayNeedsWant, dryNeedsWant, wantAtOpening } from './wants.js';
import { Speaker } from './speaker.js';
import { TvSheet } from './tv-sheet.js';
import { seconds, wordsFrom } from './words.js';

/** Media time begins this long before the page's first hello, so that it never is negative. */
const BEFORE_US = 3600000000;
/** How much is kept behind the glass, for a longer delay; and how much more before it is cut. */
const BACK_US = 3000000;
/** How often the cover is looked at when no picture moves: what is left of half a second after cover.js has waited. */
const COVER_MS = 50;
/**
 * No picture can be on the glass sooner: it is wrapped when the next one is
 * there, travels, and is decoded; and a seek needs something to land on. A delay
 * set below this shows pictures this late, and the page says so.
 */
const LEAST_DELAY_MS = 400;

class Tv {
  constructor() {
    const page = part('tv');
    const video = /** @type {HTMLVideoElement} */ (part('picture'));
    const meta = document.querySelector('meta[name="afterturn-build"]');
    this.lang = document.documentElement.lang;
    this.words = wordsFrom(part('words-' + this.lang).textContent || '{}');
    this.sheet = new TvSheet(this.words);
    this.phase = new TvPhase();
    this.speaker = new Speaker(part('sound'), () => this.words, (m) => { this.link.send(m); });
    this.openedMs = performance.now();
    /** @type {import('./wire').StationState | null} */
    this.state = null;
    /** What is shown instead of the late picture. @type {import('./wire').Again | null} */
    this.again = null;
    /** @type {import('./wire').ScreenClass | null} */
    this.class = null;
    this.feed = new Feed();
    /** @type {{fromUs: number | null, runUs: number | null, reason: import('./wire').CoverReason} | null} `fromUs` null: at once */
    this.veil = null;
    this.tap = false;
    this.covered = true;
    this.askedUs = 0;
    this.fedUs = 0;
    this.drawn = '';
    this.screen = new Screen(/** @type {HTMLCanvasElement} */ (part('bars')), (ms) => this.link.serverUs(ms));
    this.source = new Source(video, {
      moved: () => { this.moved(); },
      broken: (why) => { this.broken(why); },
      ready: () => { this.want(this.neededUs()); },
      safeToUs: () => this.feed.removableTo(Math.min(this.dueUs(), this.lateUs()) - BACK_US / 3),
    });
    const clocks = {
      nowUs: () => this.nowUs(),
      atUs: (/** @type {number} */ ms) => this.link.serverUs(ms),
      pace: () => this.pace(),
    };
    this.player = new Player(video, this.source, clocks, {
      tap: (tap) => { this.tap = tap; this.draw(); },
      picture: () => { this.draw(); },
      stuck: (why) => { this.source.rebuild(why); },
    }, /[?&]tier=b\b/.test(location.search));
    const scheme = location.protocol === 'https:' ? 'wss://' : 'ws://';
    const number = page.getAttribute('data-station');
    this.link = new Link(scheme + location.host + '/api/stations/' + number + '/view?lang=' + this.lang,
      meta === null ? '' : meta.getAttribute('content') || '', {
        message: (m) => { this.message(m); },
        bytes: (b) => { this.bytes(b); },
        failed: (times) => { this.speaker.lost(); reloadIfUnknown(times); },
        opened: () => { this.opened(); },
        standing: () => this.standing(),
      });
    part('card').addEventListener('click', () => { this.player.pressed(); });
    listenToKeys({ pressed: () => this.player.pressed(), again: () => { this.link.again(); }, clicked: (click) => { this.link.click(click); } });
    setInterval(() => { this.look(); }, COVER_MS);
    this.look();
  }

  nowUs() {
    return this.link.serverUs(performance.now());
  }

  /** @returns {number | null} while the clock or the delay is unknown */
  delayUs() {
    const known = this.link !== undefined && this.link.clock.known;
    return known && this.state !== null ? this.state.delay_ms * 1000 : null;
  }

  /** Capture time that is due now where nothing else is shown. */
  lateUs() {
    return this.nowUs() - (this.delayUs() || 0);
  }

  /** @returns {import('./pace.js').Pace | null} while the clock or the delay is unknown */
  pace() {
    const delayUs = this.delayUs();
    return delayUs === null ? null : paceOf(this.again, this.nowUs(), delayUs);
  }

  /** From where pictures are wanted when the buffer holds none; `null`: from the late one. */
  neededUs() {
    const pace = this.pace();
    return pace === null || pace.kind === 'late' ? null : againNeedsWant(this.again, this.source.ranges());
  }

  /** Capture time that is due on the glass now. */
  dueUs() {
    const pace = this.pace();
    return pace === null ? this.lateUs() : dueUs(pace, this.nowUs());
  }

  opened() {
    const due = this.delayUs() === null ? null : this.lateUs();
    this.want(wantAtOpening(this.source.ranges(), due, this.feed.endUs));
  }

  /** @param {number | null} fromUs */
  want(fromUs) {
    this.askedUs = performance.now() * 1000;
    this.link.want(fromUs);
  }

  /** @param {import('./wire').FromServer} m */
  message(m) {
    if (m.type === 'hello') {
      if (this.source.originUs === 0) {
        this.source.setOrigin(Math.round((m.now_us - BEFORE_US) / 1000000) * 1000000);
      }
    } else if (m.type === 'state') {
      this.heardState(m);
    } else if (m.type === 'class') {
      this.class = m;
      this.speaker.heard(m.time);
      this.draw();
    } else if (m.type === 'sound') {
      this.speaker.told(m);
    } else if (m.type === 'run') {
      this.source.run(m.mime);
      this.feed.run(m.mime);
      if (this.veil !== null) {
        this.veil.runUs = m.from_us;
      }
    } else if (m.type === 'removed') {
      // Cleared first: a reload may take a moment, and fail.
      this.heardCover({ clock: 'live' }, 'covered');
      location.reload();
    } else if (m.type === 'cover') {
      this.heardCover(m.applies, m.reason);
    } else if (m.type === 'sheet') {
      this.heardSheet(m);
    }
  }

  /** @param {import('./wire').Sheet} sheet */
  heardSheet(sheet) {
    if (sheet.language !== this.lang) {
      this.lang = sheet.language;
      this.words = wordsFrom(part('words-' + this.lang).textContent || '{}');
      document.documentElement.lang = this.lang;
      this.drawn = '';
    }
    this.sheet.heard(sheet, this.words);
    this.draw();
  }

  /** @param {import('./wire').StationState} heard */
  heardState(heard) {
    const state = Object.assign({}, heard, { delay_ms: Math.max(heard.delay_ms, LEAST_DELAY_MS) });
    const before = this.state;
    this.state = state;
    if (before !== null && before.delay_ms !== state.delay_ms && this.link.clock.known) {
      if (delayNeedsWant(this.source.ranges(), this.lateUs())) {
        this.want(null);
      }
      this.player.step();
    }
    this.heardAgain(state.again);
    this.draw();
  }

  /** @param {import('./wire').Again | null} heard */
  heardAgain(heard) {
    const again = goneBy(this.again, heard, this.nowUs());
    if (JSON.stringify(again) === JSON.stringify(this.again)) {
      return;
    }
    this.again = again;
    const from = againNeedsWant(again, this.source.ranges());
    if (from !== null) {
      // As if nothing were held: what comes is taken whole.
      this.feed.reset();
      this.want(from);
    }
    this.player.step();
  }

  /**
   * What follows must not be seen before the next run.
   * @param {import('./wire').Applies} applies
   * @param {import('./wire').CoverReason} reason
   */
  heardCover(applies, reason) {
    const fromUs = applies.clock === 'live' ? null : applies.capture_us;
    this.veil = { fromUs: fromUs, runUs: null, reason: reason };
    if (fromUs === null) {
      this.source.clear();
      this.feed.reset();
      this.player.forget();
    } else {
      this.source.remove(fromUs, Infinity);
      this.feed.reset();
    }
    this.draw();
  }

  /** @param {ArrayBuffer} bytes */
  bytes(bytes) {
    let segment;
    try {
      segment = readSegment(bytes);
    } catch (problem) {
      console.error('segment left out:', problem);
      return;
    }
    if (segment.kind === 'init') {
      this.feed.initSegment(bytes);
      return;
    }
    const ranges = this.source.ranges();
    const parts = this.feed.fragment(bytes, segment, function (us) {
      return ranges.some(function (r) { return r.startUs <= us && us < r.endUs; });
    });
    if (parts.length > 0) {
      this.fedUs = performance.now() * 1000;
    }
    for (const one of parts) {
      this.source.append(one);
    }
  }

  /** The buffer changed. */
  moved() {
    this.link.report();
    this.player.step();
    const ranges = this.source.ranges();
    const first = ranges[0];
    if (this.player.glassUs === null || this.delayUs() === null || first === undefined) {
      return;
    }
    // Just after the delay grew, what is due lies before what is on the glass.
    // And somebody may ask to see the last attempt once more.
    const attemptUs = this.state === null ? 0 : this.state.attempt_s * 1000000;
    const needed = Math.min(this.player.glassUs, this.dueUs(), this.lateUs() - attemptUs);
    if (first.startUs > needed - BACK_US - 1000000) {
      return;
    }
    const to = this.feed.removableTo(needed - BACK_US);
    if (to !== null && to > first.startUs) {
      this.source.remove(first.startUs - 1000000, to);
    }
  }

  /** @param {string} why */
  broken(why) {
    console.warn('built anew:', why);
    this.feed.reset();
    this.player.forget();
    this.draw();
  }

  standing() {
    const end = this.feed.endUs;
    return {
      // What was due before now is wanted no more: past a hole the server goes on from what is due.
      endUs: end === null || this.delayUs() === null ? end : Math.max(end, this.dueUs()),
      glassUs: this.player.glassUs,
      errorUs: this.player.glassUs === null ? null : this.player.errorUs(),
      dropped: this.player.dropped(),
    };
  }

  /** Several times a second, whatever happens or does not. */
  look() {
    const state = this.state;
    if (state !== null && this.link.clock.known) {
      const need = dryNeedsWant({
        nowUs: performance.now() * 1000,
        dueUs: this.lateUs(),
        ranges: this.source.ranges(),
        oldestUs: state.oldest_us,
        newestUs: state.newest_us,
        fedUs: this.fedUs,
        askedUs: this.askedUs,
      });
      if (need) {
        this.want(null);
      }
    }
    this.sheet.tick(this.link.clock.known ? this.nowUs() : null);
    this.draw();
  }

  /** Whether what is on the glass was said not to be seen. */
  veiled() {
    const veil = this.veil;
    const glass = this.player.glassUs;
    if (veil === null) {
      return false;
    }
    // Over when a picture of the run after it is on the glass.
    if (veil.runUs !== null && glass !== null && glass >= veil.runUs) {
      this.veil = null;
      return false;
    }
    if (veil.fromUs === null) {
      return true;
    }
    return this.link.clock.known && this.dueUs() >= veil.fromUs;
  }

  draw() {
    const glass = this.player.glassUs;
    const shown = cover({
      nowUs: this.link.clock.known ? this.nowUs() : null,
      heardAgoUs: this.link.heardAgoUs(),
      vouchedAgoUs: this.link.vouchedAgoUs(),
      openedAgoUs: (performance.now() - this.openedMs) * 1000,
      state: this.state,
      glass: glass === null ? null : { captureUs: glass, durationUs: this.feed.durationUs },
      newer: glass !== null && this.source.ranges().some(function (r) { return r.endUs > glass + 100000; }),
      dueUs: this.dueUs(),
      turning: this.again !== null && turning(this.again, this.nowUs()),
      hold: hidingHold(this.class),
      stay: stayOf(this.class, this.link.clock.known ? this.nowUs() : null),
      veiled: this.veil !== null && this.veiled() ? this.veil.reason : null,
      tap: this.tap,
      covered: this.covered,
    });
    this.covered = shown.card !== null;
    const pace = this.pace();
    const again = pace === null || pace.kind === 'late' || shown.card !== null ? '' : pace.kind;
    const key = JSON.stringify([shown, again, this.sheet.parts.drawn, this.state && [this.state.delay_ms, this.state.title, this.state.demo]]);
    if (key !== this.drawn) {
      this.drawn = key;
      this.put(shown);
      this.sheet.again(again);
    }
    this.putClass();
  }

  putClass() {
    const time = this.class === null ? null : this.class.time;
    const now = this.link.clock.known ? this.nowUs() : null;
    this.phase.put(this.class, this.sheet.sheet, now, this.words);
    this.sheet.signed(this.phase.scene.sign !== null);
    // A number that changes every second would hurry the last turn.
    const last = time !== null && time.phase === 'last_turn' && time.hold === null;
    this.sheet.saidOfClass(last ? this.words('live-phase-last-turn')
      : [timeLine(time, now, this.words), nextLine(this.class, this.words)].join(' ').trim());
  }

  /** @param {import('./cover.js').Cover} shown */
  put(shown) {
    this.screen.show(shown.card !== null && shown.card.kind === 'bars');
    putCard(shown.card, this.sheet.parts.drawn, this.sheet.pictures, this.words);
    part('notice').hidden = shown.notice === null;
    text('notice', shown.notice === null ? '' : this.words('live-notice-camera'));
    if (this.state !== null) {
      text('title', this.state.title);
      this.sheet.said(this.state.delay_ms === LEAST_DELAY_MS
        ? this.words('live-soonest')
        : this.words('live-late', { seconds: seconds(this.state.delay_ms, this.lang) }));
      part('demo').hidden = !this.state.demo;
    }
  }
}

const tv = new Tv();
// For a technician at the console; nothing on the page uses it.
Object.defineProperty(window, 'afterturn', { value: tv });
