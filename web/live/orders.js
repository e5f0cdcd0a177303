/**
 * A station's orders on the remote: hide what must not be seen, show again,
 * forget. Says where it was pressed what a press did.
 *
 * Not here: what an order does (the server), or how a station is asked after.
 */

/**
 * @typedef {import('./wire').Order} Order
 * @typedef {{paused: boolean, covered_from_us: number | null}} Standing
 */

/** The order a switch gives next, by how the station stands. @type {Record<string, (s: Standing) => Order>} */
const SWITCHES = {
  pause: function (s) { return s.paused ? 'resume' : 'pause'; },
  cover: function (s) { return s.covered_from_us === null ? 'cover_from_now' : 'uncover'; },
};

/**
 * @param {string} name of a button
 * @param {Standing} s
 * @returns {Order}
 */
export function orderOf(name, s) {
  return name in SWITCHES ? SWITCHES[name](s) : /** @type {Order} */ (name);
}

/** @param {Order} order the end of its sentences' ids */
export function idOf(order) {
  return order.replace(/_/g, '-');
}

export class Orders {
  /**
   * @param {HTMLElement} item the station's row
   * @param {number} number
   * @param {(id: string, values?: {[name: string]: string | number}) => string} words
   * @param {import('./presses.js').Presses} presses
   */
  constructor(item, number, words, presses) {
    this.number = number;
    this.words = words;
    this.presses = presses;
    this.place = /** @type {HTMLElement} */ (item.querySelector('.order-said'));
    /** @type {Standing} */
    this.standing = { paused: false, covered_from_us: null };
    /** @type {HTMLElement[]} */
    this.buttons = [];
    item.querySelectorAll('[data-order]').forEach((button) => {
      this.buttons.push(/** @type {HTMLElement} */ (button));
      button.addEventListener('click', () => {
        this.press(orderOf(button.getAttribute('data-order') || '', this.standing));
      });
    });
    this.put();
  }

  /** @param {Standing} standing */
  heard(standing) {
    this.standing = standing;
    this.put();
  }

  put() {
    for (const button of this.buttons) {
      const order = orderOf(button.getAttribute('data-order') || '', this.standing);
      this.text(button, this.words('live-order-' + idOf(order)));
    }
  }

  /** @param {Order} order */
  press(order) {
    this.text(this.place, '');
    const label = this.words('live-order-at', { order: this.words('live-order-' + idOf(order)), station: this.number });
    this.presses.press('/api/stations/' + this.number + '/orders', { order: order }, label, (body) => {
      this.text(this.place, this.words('live-ordered-' + idOf(order)));
      this.heard(/** @type {Standing} */ (body));
    });
  }

  /** @param {HTMLElement} place @param {string} what */
  text(place, what) {
    if (place.textContent !== what) {
      place.textContent = what;
    }
  }
}
