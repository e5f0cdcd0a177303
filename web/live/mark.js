/**
 * A station's mark as a drawing: numeral, shape and colour together, as a unit
 * gives them. A page that knows the number alone has it from web/pages/mark.html.
 *
 * Not here: which station has which mark.
 */

const SVG = 'http://www.w3.org/2000/svg';

/** Outlines in a box of 100. @type {Record<string, string>} */
export const SHAPES = {
  disc: 'M50 3A47 47 0 1 1 49.99 3Z',
  square: 'M6 6H94V94H6Z',
  triangle: 'M50 2 99 94H1Z',
  diamond: 'M50 1 99 50 50 99 1 50Z',
  star: 'M50 1 64 33 99 37 73 60 80 95 50 77 20 95 27 60 1 37 36 33Z',
  ring: 'M50 8A42 42 0 1 1 49.99 8Z',
  cross: 'M28 3H72V28H97V72H72V97H28V72H3V28H28Z',
  hexagon: 'M26 7H74L98 50 74 93H26L2 50Z',
};

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
  outline.setAttribute('d', SHAPES[mark.shape] || SHAPES.disc);
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
