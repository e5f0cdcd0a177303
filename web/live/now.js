/**
 * The small picture on a station's opened card: what its camera sees now, a
 * keyframe at a time. It is asked for only while somebody looks at it, kept
 * nowhere, and gone as soon as the box says that there is nothing to be seen, or
 * says nothing.
 *
 * Not here: what may be seen (the server).
 */

/** A picture that the box has not vouched for this long is taken away. */
export const GONE_MS = 800;

/** When to ask, and what an answer means for the picture that is there. */
export class Now {
  constructor() {
    /** The box's mark of the picture that is there; empty: none. */
    this.tag = '';
    this.asking = false;
    this.askedMs = 0;
    this.vouchedMs = 0;
    /** Counts how often nobody looked: an answer from before then is nobody's. */
    this.looks = 0;
  }

  /**
   * @param {boolean} looked somebody sees the card's picture
   * @param {number} nowMs
   * @returns {'ask' | 'clear' | null}
   */
  tick(looked, nowMs) {
    if (!looked || (this.tag !== '' && nowMs - this.vouchedMs > GONE_MS)) {
      this.looks += looked ? 0 : 1;
      this.tag = '';
      return 'clear';
    }
    return this.asking ? null : 'ask';
  }

  /** @param {number} nowMs @returns {number} what to hand back with the answer */
  asked(nowMs) {
    this.asking = true;
    this.askedMs = nowMs;
    return this.looks;
  }

  /**
   * What came of it; an answer is as old as its question.
   * @param {number} looks
   * @param {{status: number, tag: string | null} | null} answer `null`: none
   * @returns {'show' | 'keep' | 'clear'}
   */
  answered(looks, answer) {
    this.asking = false;
    if (looks !== this.looks || answer === null) {
      return 'keep';
    }
    if (answer.status === 200 && answer.tag !== null) {
      this.tag = answer.tag;
      this.vouchedMs = this.askedMs;
      return 'show';
    }
    if (answer.status === 304 && this.tag !== '') {
      this.vouchedMs = this.askedMs;
      return 'keep';
    }
    this.tag = '';
    return 'clear';
  }
}

export class NowPicture {
  /**
   * @param {HTMLElement} item the station's row
   * @param {number} number
   * @param {(url: string, init: RequestInit) => Promise<Response>} ask
   */
  constructor(item, number, ask) {
    this.url = '/api/stations/' + number + '/still';
    this.ask = ask;
    this.now = new Now();
    this.card = /** @type {HTMLDetailsElement} */ (item.querySelector('.opened'));
    this.place = /** @type {HTMLElement} */ (item.querySelector('.now'));
    this.picture = /** @type {HTMLImageElement} */ (item.querySelector('.now img'));
    this.none = /** @type {HTMLElement} */ (item.querySelector('.now-none'));
    this.inView = true;
    if ('IntersectionObserver' in window) {
      new IntersectionObserver((seen) => { this.inView = seen[seen.length - 1].isIntersecting; }).observe(this.place);
    }
  }

  tick() {
    const looked = this.card.open && this.inView && document.visibilityState === 'visible';
    const what = this.now.tick(looked, performance.now());
    if (what === 'clear') {
      this.clear();
    } else if (what === 'ask') {
      this.send();
    }
  }

  send() {
    const looks = this.now.asked(performance.now());
    const headers = this.now.tag === '' ? undefined : { 'if-none-match': this.now.tag };
    this.ask(this.url, { headers: headers }).then((answer) => {
      const came = { status: answer.status, tag: answer.headers.get('etag') };
      return answer.status !== 200 ? this.heard(looks, came, '')
        : answer.blob().then(asAddress).then((address) => { this.heard(looks, came, address); });
    }).catch(() => { this.now.answered(looks, null); });
  }

  /** @param {number} looks @param {{status: number, tag: string | null}} came @param {string} address */
  heard(looks, came, address) {
    const what = this.now.answered(looks, came);
    if (what === 'show') {
      this.picture.src = address;
      this.picture.hidden = false;
      this.none.hidden = true;
    } else if (what === 'clear') {
      this.clear();
    }
  }

  clear() {
    if (!this.picture.hidden) {
      this.picture.hidden = true;
      this.picture.removeAttribute('src');
      this.none.hidden = false;
    }
  }
}

/** @param {Blob} blob @returns {Promise<string>} */
function asAddress(blob) {
  return new Promise(function (done, failed) {
    const reader = new FileReader();
    reader.onload = function () { done(String(reader.result)); };
    reader.onerror = function () { failed(reader.error); };
    reader.readAsDataURL(blob);
  });
}
