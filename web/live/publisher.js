/**
 * Publishes a camera to a station over WHIP (RFC 9725), and goes on doing so:
 * through a network that was gone, a box that began anew, a place that was taken
 * and is free again. Asks the box once a second how it stands, and compares
 * clocks with it on the way.
 *
 * All it needs of a browser is handed in. Not here: opening the camera, the page.
 */

/** How often the box is asked. */
export const ASK_MS = 1000;
/** While it does not answer: it is back within three seconds of its own return. */
export const ASK_AGAIN_MS = 500;
/** An answer that takes longer is none. */
const ANSWER_WITHIN_MS = 2500;
/** A connection that is not there after this is made anew. */
const CONNECTS_WITHIN_MS = 2500;
/** Enough for 1280 by 720 with children who move; a room has several of these. */
const MOST_BITS_A_SECOND = 4000000;
/** A picture worth looking at from the first on. Chromium alone knows this word; the others pass over it. */
const FIRST_KBIT_S = 2500;
const GONE = [401, 403];

/**
 * What somebody at the device is told, in a word.
 * @typedef {'connecting' | 'on' | 'away' | 'taken' | 'off' | 'out' | 'no-h264'} Word
 */

/**
 * What is needed of the browser.
 * @typedef {{
 *   fetch: (path: string, options: RequestInit) => Promise<Response>,
 *   connection: () => RTCPeerConnection,
 *   codecs: () => RTCRtpCodec[],
 *   steadyMs: () => number,
 *   wallMs: () => number,
 *   later: (act: () => void, ms: number) => void,
 * }} Browser
 */

/** Which clock comparison is the best so far: the one that took least time. */
export class Comparison {
  constructor() {
    /** @type {{tookMs: number, aheadUs: number, atMs: number} | null} */
    this.best = null;
  }

  /**
   * The box said `nowUs` in an answer to what was asked at `askedMs` of our wall
   * clock and answered at `answeredMs`: half of the way each (RFC 5905 §8).
   * @param {number} askedMs @param {number} answeredMs @param {number} nowUs
   */
  add(askedMs, answeredMs, nowUs) {
    const tookMs = answeredMs - askedMs;
    const aheadUs = Math.round(nowUs - (askedMs + answeredMs) * 500);
    const best = this.best;
    // Clocks drift: what was best is not for ever.
    const old = best !== null && answeredMs - best.atMs > 60000;
    // Our own was set: what was known is worth nothing.
    const set = best !== null && Math.abs(best.aheadUs - aheadUs) > (best.tookMs + tookMs) * 500 + 20000;
    if (tookMs >= 0 && (best === null || old || set || tookMs <= best.tookMs)) {
      this.best = { tookMs: tookMs, aheadUs: aheadUs, atMs: answeredMs };
    }
  }

  /** @returns {number | null} microseconds that the box's clock is ahead of ours */
  aheadUs() {
    return this.best === null ? null : this.best.aheadUs;
  }
}

/**
 * An answer that asks the browser to begin with a good picture.
 * @param {string} sdp
 */
export function withFirstRate(sdp) {
  return sdp.replace(/^(a=fmtp:\d+ .*packetization-mode=1.*)$/gm, '$1;x-google-start-bitrate=' + FIRST_KBIT_S);
}

export class Publisher {
  /**
   * @param {string} station
   * @param {Browser} browser
   * @param {(word: Word, standing: import('./wire').PublisherStanding | null) => void} say
   */
  constructor(station, browser, say) {
    this.path = '/api/stations/' + station;
    this.browser = browser;
    this.say = say;
    this.clock = new Comparison();
    /** @type {MediaStreamTrack | null} */
    this.track = null;
    /** @type {RTCPeerConnection | null} */
    this.connection = null;
    /** @type {string | null} where what we publish is ended */
    this.at = null;
    /** @type {number | null} */
    this.id = null;
    this.beganMs = 0;
    this.replaced = false;
    this.running = false;
  }

  /** Publishes this, from now on. @param {MediaStreamTrack} track */
  start(track) {
    this.track = track;
    const sender = this.connection === null ? undefined : this.connection.getSenders()[0];
    if (sender !== undefined) {
      // Another lens: the connection stays.
      sender.replaceTrack(track).catch(() => { this.drop(); });
    }
    this.replaced = false;
    if (!this.running) {
      this.running = true;
      this.ask();
    }
  }

  /** Publishes no more. */
  stop() {
    this.running = false;
    const at = this.at;
    this.drop();
    if (at !== null) {
      this.browser.fetch(at, { method: 'DELETE' }).catch(function () { /* It ends by itself. */ });
    }
  }

  /** Forgets the connection there is. */
  drop() {
    if (this.connection !== null) {
      this.connection.close();
    }
    this.connection = null;
    this.at = null;
    this.id = null;
  }

  /** Once a second, whatever happens or does not. */
  ask() {
    if (!this.running) {
      return;
    }
    const asked = this.browser.wallMs();
    const news = { publisher: this.id, ahead_us: this.id === null ? null : this.clock.aheadUs() };
    this.post(this.path + '/publisher', 'application/json', JSON.stringify(news)).then((answer) => {
      if (!answer.ok) {
        throw answer.status;
      }
      return answer.json().then((/** @type {import('./wire').PublisherStanding} */ standing) => {
        this.clock.add(asked, this.browser.wallMs(), standing.now_us);
        return this.heard(standing);
      });
    }).then(() => ASK_MS, (problem) => {
      this.say(GONE.indexOf(problem) < 0 ? 'away' : 'out', null);
      return ASK_AGAIN_MS;
    }).then((ms) => { this.browser.later(() => { this.ask(); }, ms); });
  }

  /** @param {string} path @param {string} kind @param {string} body @returns {Promise<Response>} */
  post(path, kind, body) {
    const late = new Promise((_, reject) => { this.browser.later(() => { reject(new Error('late')); }, ANSWER_WITHIN_MS); });
    const options = { method: 'POST', body: body, headers: { 'content-type': kind }, cache: /** @type {RequestCache} */ ('no-store') };
    return /** @type {Promise<Response>} */ (Promise.race([this.browser.fetch(path, options), late]));
  }

  /**
   * @param {import('./wire').PublisherStanding} standing
   * @returns {Promise<void> | void}
   */
  heard(standing) {
    if (standing.camera === 'off') {
      // No class, no camera: nothing leaves this device.
      this.drop();
      this.say('off', standing);
      return undefined;
    }
    if (this.id !== null && standing.publisher === this.id) {
      if (this.broken()) {
        this.drop();
        return this.connect(standing);
      }
      this.say(standing.camera === 'showing' ? 'on' : 'connecting', standing);
      return undefined;
    }
    // Somebody who came after us is not pushed out again: two devices would go on
    // so for ever.
    this.replaced = (this.replaced || this.id !== null) && standing.publisher !== null;
    this.drop();
    if (this.replaced) {
      this.say('taken', standing);
      return undefined;
    }
    return this.connect(standing);
  }

  /** Whether the connection will not come any more. */
  broken() {
    const state = this.connection === null ? 'closed' : this.connection.connectionState;
    const good = state === 'connected';
    if (good) {
      this.beganMs = this.browser.steadyMs();
    }
    return state === 'failed' || state === 'closed' ||
      (!good && this.browser.steadyMs() - this.beganMs > CONNECTS_WITHIN_MS);
  }

  /** @param {import('./wire').PublisherStanding} standing @returns {Promise<void> | void} */
  connect(standing) {
    const track = this.track;
    // With what sends again what was lost (RFC 4588), or nothing is.
    const codecs = this.browser.codecs().filter(function (codec) { return /^video\/(h264|rtx)$/i.test(codec.mimeType); });
    if (track === null || !codecs.some(function (codec) { return /h264$/i.test(codec.mimeType); })) {
      this.say('no-h264', standing);
      return undefined;
    }
    this.say('connecting', standing);
    this.beganMs = this.browser.steadyMs();
    const connection = this.browser.connection();
    this.connection = connection;
    return prepare(connection, track, codecs)
      .then(() => connection.createOffer())
      .then((offer) => connection.setLocalDescription(offer).then(() => offer.sdp || ''))
      .then((sdp) => this.post(this.path + '/whip', 'application/sdp', sdp))
      .then((answer) => this.answered(connection, answer, standing));
  }

  /**
   * @param {RTCPeerConnection} connection
   * @param {Response} answer
   * @param {import('./wire').PublisherStanding} standing
   * @returns {Promise<void> | void}
   */
  answered(connection, answer, standing) {
    if (answer.status !== 201) {
      this.drop();
      if (GONE.indexOf(answer.status) >= 0) {
        throw answer.status;
      }
      this.say(answer.status === 409 ? 'taken' : answer.status === 503 ? 'off' : 'away', standing);
      return undefined;
    }
    this.at = answer.headers.get('location');
    this.id = Number((this.at || '').split('/').pop());
    return answer.text().then((sdp) => connection.setRemoteDescription({ type: 'answer', sdp: withFirstRate(sdp) }));
  }
}

/**
 * One video to send, H.264 alone, always at its full size.
 * @param {RTCPeerConnection} connection @param {MediaStreamTrack} track @param {RTCRtpCodec[]} codecs
 * @returns {Promise<void>}
 */
function prepare(connection, track, codecs) {
  const transceiver = connection.addTransceiver(track, {
    direction: 'sendonly',
    sendEncodings: [{ maxBitrate: MOST_BITS_A_SECOND }],
  });
  if (typeof transceiver.setCodecPreferences === 'function') {
    transceiver.setCodecPreferences(codecs);
  }
  const wished = transceiver.sender.getParameters();
  // Left alone a browser begins small and grows: new parameter sets each time.
  Object.assign(wished, { degradationPreference: 'maintain-resolution' });
  return transceiver.sender.setParameters(wished).catch(function () { /* One that does not know it. */ });
}

/** What is needed of this browser. @returns {Browser} */
export function thisBrowser() {
  return {
    fetch: function (path, options) { return fetch(path, options); },
    connection: function () { return new RTCPeerConnection(); },
    codecs: function () {
      const all = typeof RTCRtpSender === 'undefined' ? null : RTCRtpSender.getCapabilities('video');
      return all === null ? [] : all.codecs;
    },
    steadyMs: function () { return performance.now(); },
    wallMs: function () { return Date.now(); },
    later: function (act, ms) { setTimeout(act, ms); },
  };
}
