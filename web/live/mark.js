/**
 * A station's mark as a drawing: numeral, shape and colour together, as a unit
 * gives them; what web/pages/mark.html draws when a page is made, drawn again when
 * it changes.
 *
 * Not here: which station has which mark.
 */

const SVG = 'http://www.w3.org/2000/svg';

/**
 * @param {Element} place
 * @param {import('./wire').SheetMark} mark
 */
export function drawMark(place, mark) {
  const said = [mark.shape, mark.colour, mark.number].join(' ');
  if (place.getAttribute('data-mark') === said) {
    return;
  }
  place.setAttribute('data-mark', said);
  place.textContent = '';
  place.appendChild(stationMark(mark));
}

/**
 * The mark itself.
 * @param {import('./wire').SheetMark} mark
 * @returns {Element}
 */
export function stationMark(mark) {
  const svg = document.createElementNS(SVG, 'svg');
  svg.setAttribute('class', 'mark mark-shape-' + mark.shape + ' mark-colour-' + mark.colour);
  svg.setAttribute('viewBox', '0 0 100 100');
  svg.setAttribute('aria-hidden', 'true');
  const outline = document.createElementNS(SVG, 'path');
  outline.setAttribute('d', mark.outline);
  svg.appendChild(outline);
  const numeral = document.createElementNS(SVG, 'text');
  numeral.setAttribute('x', '50');
  numeral.setAttribute('y', '50');
  numeral.setAttribute('dy', '0.36em');
  numeral.setAttribute('text-anchor', 'middle');
  numeral.textContent = String(mark.number);
  svg.appendChild(numeral);
  return svg;
}

/**
 * A group's mark: the same signs with three children over them, so that nobody
 * takes a group for a place.
 * @param {import('./wire').SheetMark} mark
 * @returns {Element}
 */
export function groupMark(mark) {
  const svg = document.createElementNS(SVG, 'svg');
  svg.setAttribute('class', 'group');
  svg.setAttribute('viewBox', '0 -44 100 144');
  svg.setAttribute('aria-hidden', 'true');
  for (const x of [18, 50, 82]) {
    const head = document.createElementNS(SVG, 'circle');
    head.setAttribute('cx', String(x));
    head.setAttribute('cy', '-36');
    head.setAttribute('r', '8');
    svg.appendChild(head);
    const shoulders = document.createElementNS(SVG, 'path');
    shoulders.setAttribute('d', 'M' + (x - 14) + ' -6V-12A14 14 0 0 1 ' + (x + 14) + ' -12V-6Z');
    svg.appendChild(shoulders);
  }
  const own = stationMark(mark);
  own.setAttribute('width', '100');
  own.setAttribute('height', '100');
  svg.appendChild(own);
  return svg;
}
