/**
 * The parts of a page by their ids, and new ones.
 *
 * Not here: what stands in them.
 */

/** @param {string} id */
export function part(id) {
  const found = document.getElementById(id);
  if (found === null) {
    throw new Error('the page has no part ' + id);
  }
  return found;
}

/** @param {string} id @param {string} words */
export function text(id, words) {
  const place = part(id);
  if (place.textContent !== words) {
    place.textContent = words;
  }
}

/**
 * As many items as there are words, each with its own.
 * @param {HTMLElement} place
 * @param {string} kind the items' element
 * @param {string[]} words
 */
export function items(place, kind, words) {
  if (Array.prototype.map.call(place.children, function (/** @type {Element} */ c) { return c.textContent; }).join('\n') === words.join('\n')
    && place.children.length === words.length) {
    return;
  }
  place.textContent = '';
  words.forEach(function (one) {
    const item = document.createElement(kind);
    item.textContent = one;
    place.appendChild(item);
  });
}

/**
 * A new element.
 * @param {string} tag
 * @param {{[name: string]: string}} [attributes]
 * @param {(Node | string)[]} [children]
 */
export function make(tag, attributes, children) {
  const element = document.createElement(tag);
  const all = attributes || {};
  Object.keys(all).forEach(function (name) { element.setAttribute(name, all[name]); });
  (children || []).forEach(function (child) { element.append(child); });
  return element;
}

/**
 * A socket does not say why it does not open. If the box answers and does not
 * know this screen any more, the page begins anew, and is shown the way.
 * @param {number} times it did not open, so many times in a row
 */
export function reloadIfUnknown(times) {
  if (times % 3 === 0) {
    fetch(location.pathname, { method: 'HEAD', cache: 'no-store' }).then(function (answer) {
      if (answer.status === 401) { location.reload(); }
    }).catch(function () { /* No answer: the link goes on trying. */ });
  }
}
