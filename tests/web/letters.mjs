// How large letters and marks come out on a page: by pixels of screenshots, and
// by the boxes the browser gives them. Not here: how large they have to be.

/** Pictures as a browser decodes them, on a page of their own. */
export async function openEye(browser) {
  const page = await (await browser.newContext()).newPage();
  const look = (png, take) => page.evaluate(async ([data, source]) => {
    const image = new Image();
    image.src = `data:image/png;base64,${data}`;
    await image.decode();
    const canvas = document.createElement('canvas');
    canvas.width = image.width;
    canvas.height = image.height;
    const brush = canvas.getContext('2d');
    brush.drawImage(image, 0, 0);
    // eslint-disable-next-line no-eval
    return (0, eval)(`(${source})`)(brush.getImageData(0, 0, image.width, image.height));
  }, [png.toString('base64'), String(take)]);
  return {
    /** Rows from the first to the last with a pixel brighter than half, in a picture of white on black. */
    rows: (png) => look(png, ({ data, width, height }) => {
      let first = -1;
      let last = -2;
      for (let i = 0; i < width * height; i += 1) {
        if (data[i * 4] > 127) {
          const y = Math.floor(i / width);
          first = first < 0 ? y : first;
          last = y;
        }
      }
      return last - first + 1;
    }),
    /** A picture as 32 × 32 greys. */
    greys: (png) => look(png, ({ data, width, height }) => {
      const out = [];
      for (let y = 0; y < 32; y += 1) {
        for (let x = 0; x < 32; x += 1) {
          const i = (Math.floor((y + 0.5) * height / 32) * width + Math.floor((x + 0.5) * width / 32)) * 4;
          out.push(0.2126 * data[i] + 0.7152 * data[i + 1] + 0.0722 * data[i + 2]);
        }
      }
      return out;
    }),
  };
}

/** Large enough that half a pixel is an eighth of a per cent. */
const MEASURED_PX = 400;

/**
 * The height of a capital I as this page draws it in a part, as a share of the
 * font's size: the same font, large, white on black, photographed and measured.
 */
export async function drawnCapital(eye, page, selector) {
  await page.evaluate(([where, size]) => {
    const style = getComputedStyle(document.querySelector(where));
    const probe = document.createElement('div');
    probe.id = 'capital-probe';
    probe.textContent = 'I';
    const set = {
      position: 'fixed', top: '0', left: '0', zIndex: '99', padding: '20px', background: '#000', color: '#fff',
      fontFamily: style.fontFamily, fontSize: `${size}px`, fontWeight: style.fontWeight, fontStretch: style.fontStretch, lineHeight: '2',
    };
    Object.assign(probe.style, set);
    document.body.appendChild(probe);
  }, [selector, MEASURED_PX]);
  const png = await page.locator('#capital-probe').screenshot();
  await page.evaluate(() => document.querySelector('#capital-probe').remove());
  return (await eye.rows(png)) / MEASURED_PX;
}

/** Every stretch of text that can be seen beside the picture, with its boxes. */
export function seenTexts(page) {
  return page.evaluate(() => {
    const glass = document.querySelector('#glass').getBoundingClientRect();
    const out = [];
    const walk = document.createTreeWalker(document.querySelector('#tv'), NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      const place = node.parentElement;
      const style = getComputedStyle(place);
      const range = document.createRange();
      range.selectNodeContents(node);
      const boxes = [...range.getClientRects()].filter((b) => b.width > 0 && b.height > 0);
      const clipped = style.clip !== 'auto' || place.closest('noscript, script');
      if (node.textContent.trim() && boxes.length && !clipped && !place.closest('#card[hidden]')) {
        const svg = place.closest('svg');
        const scale = svg ? svg.getBoundingClientRect().width / 100 : 1;
        const region = place.closest('#side, #foot, #glass').getBoundingClientRect();
        const all = range.getBoundingClientRect();
        out.push({
          text: node.textContent.trim(),
          part: place.id || place.parentElement.id || place.tagName,
          inGlass: Boolean(place.closest('#glass')),
          inMark: Boolean(svg),
          font_px: parseFloat(style.fontSize) * scale,
          weight: style.fontWeight,
          spacing: parseFloat(style.lineHeight) / parseFloat(style.fontSize),
          lines: boxes.map((b) => [b.top, b.bottom]),
          outside: all.left < region.left - 1 || all.right > region.right + 1 || all.top < region.top - 1 || all.bottom > region.bottom + 1
            || all.right > innerWidth + 1 || all.bottom > innerHeight + 1,
          overGlass: !place.closest('#glass') && boxes.some((b) => (
            b.left < glass.right - 1 && b.right > glass.left + 1 && b.top < glass.bottom - 1 && b.bottom > glass.top + 1)),
        });
      }
    }
    return out;
  });
}
