// Runs inside the TV page, beside its script and without it: for each picture
// that reaches the glass, when it did, what capture time its media time stands
// for, and what time its strip carries.
//
// A browser that does not say when a picture is shown is looked at once a
// refresh; its pictures may then be noted up to a refresh late.

/** To be given to `addInitScript`, or run in a page that has loaded. */
export function probe() {
  const seen = [];
  window.probe = seen;
  // Read once: a test may give the page a wrong clock afterwards.
  const origin_ms = performance.timeOrigin;
  const cells = 48;
  const canvas = new OffscreenCanvas(cells * 2, 1);
  const brush = canvas.getContext('2d', { willReadFrequently: true });

  function readStrip(video) {
    const rows = video.videoHeight / 45;
    brush.imageSmoothingEnabled = false;
    // One pixel from the middle of each cell: two samples a cell, the second taken.
    brush.drawImage(video, 0, rows / 4, video.videoWidth, rows / 2, 0, 0, cells * 2, 1);
    const { data } = brush.getImageData(0, 0, cells * 2, 1);
    const bits = [];
    for (let cell = 0; cell < cells; cell += 1) bits.push(data[(cell * 2 + 1) * 4 + 1] > 127 ? 1 : 0);
    if (bits.slice(0, 4).join('') !== '1010' || bits[47] !== 0) return null;
    let ms = 0;
    let parity = 0;
    for (const bit of bits.slice(4, 46)) {
      ms = ms * 2 + bit;
      parity ^= bit;
    }
    return parity === bits[46] ? ms : null;
  }

  function watch(video) {
    const take = (now, meta) => {
      const origin = Number(video.dataset.originUs);
      const covered = document.querySelector('#card');
      seen.push({
        glass_ms: origin_ms + meta.expectedDisplayTime,
        since_open_ms: meta.expectedDisplayTime,
        called_ms: origin_ms + now,
        stamp_ms: (origin + meta.mediaTime * 1e6) / 1000,
        strip_ms: window.probeStrip === false ? null : readStrip(video),
        rate: video.playbackRate,
        covered: Boolean(covered && !covered.hidden),
        presented: meta.presentedFrames,
      });
    };
    const each = (now, meta) => {
      take(now, meta);
      video.requestVideoFrameCallback(each);
    };
    let last_s = -1;
    const refresh = (now) => {
      requestAnimationFrame(refresh);
      if (video.readyState < 2 || video.seeking || video.currentTime === last_s) return;
      last_s = video.currentTime;
      take(now, { expectedDisplayTime: now, mediaTime: last_s });
    };
    if ('requestVideoFrameCallback' in video) video.requestVideoFrameCallback(each);
    else requestAnimationFrame(refresh);
  }
  const begin = () => {
    const video = document.querySelector('video');
    if (video) watch(video);
  };
  if (document.readyState === 'loading') document.addEventListener('DOMContentLoaded', begin);
  else begin();
}
