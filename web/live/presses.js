/**
 * Presses on their way to the box. None is lost silently: one whose answer does
 * not come is sent once more by itself, and then stands there as not done until
 * somebody sends it again or lets it be. A press has an id of its own and keeps
 * it, so the box counts it once however often it arrives.
 *
 * Not here: the page, the network, what a press does.
 */

/**
 * @typedef {{ok: boolean, status: number, body: any}} Reply
 * @typedef {object} Row
 * @property {number} key
 * @property {string} url
 * @property {object} body
 * @property {string} label what was pressed, as the button said it
 * @property {'sending' | 'lost' | 'refused'} state
 * @property {string} detail why it was refused
 * @property {number} sinceMs
 * @property {(body: any) => void} done
 */

/** A press that takes longer than this is said to be on its way. */
export const SLOW_MS = 700;

/** An id nobody else makes up. */
export function newId() {
  return Date.now().toString(36) + '-' + Math.random().toString(36).slice(2, 12);
}

export class Presses {
  /**
   * @param {(url: string, body: object) => Promise<Reply>} send fails where no answer comes
   * @param {(body: any) => string} problem what a refusal says
   * @param {() => number} nowMs
   * @param {() => void} changed
   */
  constructor(send, problem, nowMs, changed) {
    this.sendOne = send;
    this.problem = problem;
    this.nowMs = nowMs;
    this.changed = changed;
    /** @type {Row[]} */
    this.rows = [];
    this.nextKey = 1;
  }

  /**
   * @param {string} url
   * @param {object} body
   * @param {string} label
   * @param {(body: any) => void} done told the answer once the box has done it
   */
  press(url, body, label, done) {
    /** @type {Row} */
    const row = { key: this.nextKey, url: url, body: body, label: label, state: 'sending', detail: '', sinceMs: this.nowMs(), done: done };
    this.nextKey += 1;
    this.rows.push(row);
    this.changed();
    return this.send(row);
  }

  /** @param {number} key */
  again(key) {
    const row = this.rows.filter(function (one) { return one.key === key; })[0];
    if (row === undefined || row.state === 'sending') {
      return Promise.resolve();
    }
    row.state = 'sending';
    row.sinceMs = this.nowMs();
    this.changed();
    return this.send(row);
  }

  /** @param {number} key */
  letBe(key) {
    this.rows = this.rows.filter(function (one) { return one.key !== key; });
    this.changed();
  }

  /** What there is to say: what was not done, and what takes its time. */
  said() {
    const now = this.nowMs();
    return this.rows.filter(function (row) { return row.state !== 'sending' || now - row.sinceMs >= SLOW_MS; });
  }

  /** @param {Row} row */
  send(row) {
    const once = () => this.sendOne(row.url, row.body);
    return once().catch(once).then((reply) => {
      if (!reply.ok) {
        row.state = 'refused';
        row.detail = this.problem(reply.body) || String(reply.status);
        this.changed();
        return;
      }
      // Whoever has pressed it anew has no use for the one before.
      this.rows = this.rows.filter(function (one) {
        return one !== row && !(one.url === row.url && one.label === row.label && one.state !== 'sending');
      });
      row.done(reply.body);
      this.changed();
    }, () => {
      row.state = 'lost';
      this.changed();
    });
  }
}
