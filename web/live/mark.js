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
  place.textContent = '';
  place.appendChild(svg);
}
