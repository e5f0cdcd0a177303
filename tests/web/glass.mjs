// Runs inside the TV page: what was on the glass from when to when. Not here:
// how late it was (probe.mjs, which this one leans on).

/** To be given to `addInitScript` after `probe`. */
export function glass() {
  /** Each change: from `at_ms` on, `strip_ms` was on the glass (`null`: nothing, or covered). */
  window.glass = [];
  let last;
  const look = () => {
    const card = document.querySelector('#card');
    const picture = window.probe[window.probe.length - 1];
    const seen = card && card.hidden && picture ? picture.strip_ms : null;
    if (seen !== last) {
      last = seen;
      window.glass.push({ at_ms: performance.timeOrigin + performance.now(), strip_ms: seen });
    }
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

/**
 * The last moment at which a picture of a stretch was on the glass, by the
 * record above; -Infinity if it never was.
 */
export function lastSeen(record, forbidden, until_ms) {
  let last = -Infinity;
  record.forEach((one, index) => {
    if (one.strip_ms === null || !forbidden(one.strip_ms)) return;
    const next = record[index + 1];
    last = Math.max(last, next ? next.at_ms : until_ms);
  });
  return last;
}
