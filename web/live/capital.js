/**
 * How high a capital of the page's own font really is, drawn and looked at:
 * what a browser says of a font is newer than the oldest browser we serve.
 *
 * Not here: how high it has to be (the sheet says).
 */

/** Drawn this large, so that a row of pixels is less than half a percent. */
const DRAWN_PX = 240;
/** A pixel counts as ink from half on. */
const INK = 128;

/**
 * Rows between the first and the last that hold ink, in a column-major-free
 * picture of `width` × `height` pixels of four bytes; the last byte is ink.
 * @param {Uint8ClampedArray} data
 * @param {number} width
 * @param {number} height
 */
export function inkRows(data, width, height) {
  let first = -1;
  let last = -2;
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      if (data[(y * width + x) * 4 + 3] >= INK) {
        first = first < 0 ? y : first;
        last = y;
        break;
      }
    }
  }
  return last - first + 1;
}

/**
 * The height of a capital `I` as a share of the font's size.
 * @param {string} font a family, as CSS writes it
 * @param {string} weight
 * @returns {number}
 */
export function capitalOf(font, weight) {
  const canvas = document.createElement('canvas');
  canvas.width = DRAWN_PX;
  canvas.height = DRAWN_PX * 2;
  const brush = canvas.getContext('2d');
  if (brush === null) {
    // A lower capital than any font in use has, so letters come out larger.
    return 0.65;
  }
  brush.font = weight + ' ' + DRAWN_PX + 'px ' + font;
  brush.fillText('I', DRAWN_PX / 4, DRAWN_PX * 1.5);
  const rows = inkRows(brush.getImageData(0, 0, canvas.width, canvas.height).data, canvas.width, canvas.height);
  return rows > 0 ? rows / DRAWN_PX : 0.65;
}
