/**
 * Setting up a station's camera on the remote: whether it sees well enough, and
 * how long it takes, measured by letting it film the station's TV.
 *
 * Not here: the measuring (the server), the bars on the TV (screen.js).
 */

/**
 * @typedef {import('./wire').CalibrationInfo} CalibrationInfo
 * @typedef {import('./wire').CalibrationOrder} CalibrationOrder
 * @typedef {import('./wire').LatencyInfo} LatencyInfo
 * @typedef {(id: string, values?: {[name: string]: string | number}) => string} Words
 */

/**
 * How a calibration goes or went.
 * @param {CalibrationInfo | null} info
 * @param {Words} words
 */
export function calibrationSaid(info, words) {
  if (info === null) {
    return '';
  }
  if (info.state === 'running') {
    return words('live-calibration-running', { changes: info.changes, wanted: info.wanted });
  }
  if (info.state === 'found') {
    return words('live-calibration-found', { ms: info.latency_ms, unsure: info.unsure_ms });
  }
  const why = words('live-calibration-' + info.why.replace(/_/g, '-'));
  return info.why === 'no_decoder' ? why + ' ' + info.detail : why;
}

/**
 * What to do so that the camera sees better; empty where nothing is known to be
 * wrong.
 * @param {import('./wire').SightTrouble | null} sight
 * @param {Words} words
 */
export function sightSaid(sight, words) {
  return sight === null ? '' : words('live-sight-' + sight.replace(/_/g, '-'));
}

/**
 * What is taken off, and whether it was measured.
 * @param {LatencyInfo} latency
 * @param {Words} words
 */
export function latencySaid(latency, words) {
  return latency.now_ms === latency.file_ms
    ? words('live-latency', { ms: latency.now_ms })
    : words('live-latency-measured', { ms: latency.now_ms, file: latency.file_ms });
}

/**
 * What the first button asks for.
 * @param {CalibrationInfo | null} info
 * @returns {CalibrationOrder}
 */
export function orderNow(info) {
  return info !== null && info.state === 'running' ? 'stop' : 'start';
}

export class Setup {
  /**
   * @param {HTMLElement} item the station's row
   * @param {number} number
   * @param {Words} words
   * @param {(url: string, init: RequestInit) => Promise<Response>} ask
   * @param {(body: unknown) => string} problem what a refusal says
   */
  constructor(item, number, words, ask, problem) {
    this.item = item;
    this.number = number;
    this.words = words;
    this.ask = ask;
    this.problem = problem;
    /** @type {CalibrationInfo | null} */
    this.info = null;
    this.button = this.part('.calibrate');
    this.forget = this.part('.forget');
    if (this.button !== null) {
      this.button.addEventListener('click', () => { this.press(orderNow(this.info)); });
    }
    if (this.forget !== null) {
      this.forget.addEventListener('click', () => { this.press('forget'); });
    }
  }

  /** @param {string} selector @returns {HTMLElement | null} */
  part(selector) {
    return this.item.querySelector(selector);
  }

  /** @param {import('./wire').StationInfo} station */
  heard(station) {
    this.info = station.calibration;
    // A drawn camera films nothing.
    this.show('.calibration', !station.demo);
    this.text('.latency', latencySaid(station.latency, this.words));
    this.text('.calibration-said', calibrationSaid(this.info, this.words));
    this.text('.calibrate', this.words('live-calibration-' + orderNow(this.info)));
    this.text('.forget', this.words('live-calibration-forget', { file: station.latency.file_ms }));
    this.show('.forget', station.latency.now_ms !== station.latency.file_ms && orderNow(this.info) === 'start');
  }

  /** @param {CalibrationOrder} order */
  press(order) {
    this.ask('/api/stations/' + this.number + '/calibration', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ order: order }),
    }).then((answer) => answer.json().catch(function () { return null; }).then((body) => {
      if (!answer.ok) {
        this.text('.calibration-said', this.words('live-remote-refused', { detail: this.problem(body) || String(answer.status) }));
        return;
      }
      this.heard(body);
    })).catch(() => { this.text('.calibration-said', this.words('live-remote-not-set')); });
  }

  /** @param {string} selector @param {boolean} shown */
  show(selector, shown) {
    const place = this.part(selector);
    if (place !== null) {
      place.hidden = !shown;
    }
  }

  /** @param {string} selector @param {string} what */
  text(selector, what) {
    const place = this.part(selector);
    if (place !== null && place.textContent !== what) {
      place.textContent = what;
    }
  }
}
