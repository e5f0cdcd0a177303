// Segments made by hand for tests, box by box (ISO/IEC 14496-12).

/** @param {number} v */
export const u32 = (v) => [v >>> 24, (v >>> 16) & 255, (v >>> 8) & 255, v & 255];
/** @param {number} v */
export const u64 = (v) => [...u32(Math.floor(v / 4294967296)), ...u32(v % 4294967296)];

/** A box with its content. */
export function box(name, ...parts) {
  const content = parts.flat();
  return [...u32(content.length + 8), ...[...name].map((c) => c.charCodeAt(0)), ...content];
}

/** A full box: version and flags first. */
export function full(name, version, flags, ...parts) {
  return box(name, u32(version * 0x1000000 + flags), ...parts);
}

/** Boxes as one buffer. */
export function joined(...boxes) {
  return Uint8Array.from(boxes.flat()).buffer;
}

/** The least that is an initialisation segment to us; `mark` makes two differ. */
export function init(mark = 0) {
  return joined(box('ftyp', u32(mark)), box('moov'));
}

/** A fragment of one picture as our server writes it. */
export function fragment({ number, captureUs, durationUs, keyframe }) {
  const flags = keyframe ? 0x2000000 : 0x1010000;
  return joined(
    box('moof',
      full('mfhd', 0, 0, u32(number)),
      box('traf',
        full('tfhd', 0, 0x20000, u32(1)),
        full('tfdt', 1, 0, u64(captureUs)),
        full('trun', 0, 0x701, u32(1), u32(0), u32(durationUs), u32(4), u32(flags)))),
    box('mdat', u32(0)));
}
