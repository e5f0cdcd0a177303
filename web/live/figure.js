/**
 * The figure that does the cue, in its place beside the picture.
 *
 * Not here: the figures themselves.
 */

/**
 * Draws a figure and lets it loop; nothing where there is none.
 * @param {HTMLElement} place
 * @param {string | null} id
 */
export function showFigure(place, id) {
  if (place.getAttribute('data-figure') === (id || '')) {
    return;
  }
  place.setAttribute('data-figure', id || '');
  place.hidden = id === null;
  place.textContent = '';
  if (id !== null) {
    const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
    svg.setAttribute('viewBox', '0 0 100 100');
    const path = document.createElementNS('http://www.w3.org/2000/svg', 'path');
    path.setAttribute('d', 'M50 14a8 8 0 1 1-.1 0ZM50 30V62L34 92M50 62L66 92M28 44L50 36 72 44M10 92H90');
    svg.appendChild(path);
    place.appendChild(svg);
  }
}
