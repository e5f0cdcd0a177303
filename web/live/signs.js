/**
 * Signs without a word: to the next place; finish, and begin nothing; wait.
 *
 * Not here: when they are shown.
 */

const SVG = 'http://www.w3.org/2000/svg';
/** @type {{[name: string]: string}} */
const SIGNS = {
  'arrow': 'M4 42H62V22L96 50L62 78V58H4Z',
  'last-turn': 'M4 42H42V24L74 50L42 76V58H4ZM82 14H96V86H82Z',
  'pause': 'M22 14H42V86H22ZM58 14H78V86H58Z',
};

/** @param {string} name @returns {Element} */
export function drawn(name) {
  const svg = document.createElementNS(SVG, 'svg');
  svg.setAttribute('class', 'sign');
  svg.setAttribute('viewBox', '0 0 100 100');
  svg.setAttribute('aria-hidden', 'true');
  const path = document.createElementNS(SVG, 'path');
  path.setAttribute('d', SIGNS[name]);
  svg.appendChild(path);
  return svg;
}

/** One sign in its place, or none. @param {HTMLElement} place @param {string | null} name */
export function sign(place, name) {
  if (place.getAttribute('data-sign') === (name || '')) {
    return;
  }
  place.setAttribute('data-sign', name || '');
  place.hidden = name === null;
  place.textContent = '';
  if (name !== null) {
    place.appendChild(drawn(name));
  }
}
