/**
 * Reads the two kinds of binary message our server sends: an initialisation
 * segment and a fragment of one picture (ISO/IEC 14496-12). A fragment says
 * everything about itself: its number, its capture time, whether it is a
 * keyframe, how long it lasts.
 *
 * Not here: any other file. What is not ours is refused with a reason, because
 * one wrong append can end a SourceBuffer for good.
 */

/**
 * @typedef {object} Init
 * @property {'init'} kind
 *
 * @typedef {object} Fragment
 * @property {'fragment'} kind
 * @property {number} number `mfhd.sequence_number`: the low 32 bits of its number in the ring
 * @property {number} captureUs `tfdt.baseMediaDecodeTime`
 * @property {number} durationUs
 * @property {boolean} keyframe
 */

/** `sample_is_non_sync_sample` in a sample's flags, §8.8.3.1. */
const NOT_SYNC = 0x10000;

/** No fragment of one picture needs more; a count beyond it is damage. */
const MOST_SAMPLES = 64;

/**
 * @param {ArrayBuffer} bytes one binary message
 * @returns {Init | Fragment}
 * @throws {Error} says what is wrong with it
 */
export function readSegment(bytes) {
  const view = new DataView(bytes);
  const whole = { start: 0, end: view.byteLength };
  const first = boxesIn(view, whole)[0];
  if (first === undefined) {
    throw new Error('empty segment');
  }
  if (first.name === 'ftyp') {
    child(view, whole, 'moov');
    return { kind: 'init' };
  }
  if (first.name !== 'moof') {
    throw new Error('segment starts with ' + first.name + ', not ftyp or moof');
  }
  child(view, whole, 'mdat');
  return readMoof(view, first);
}

/**
 * @typedef {object} Box
 * @property {string} name
 * @property {number} start where its content begins
 * @property {number} end
 */

/**
 * @param {DataView} view
 * @param {Box} moof
 * @returns {Fragment}
 */
function readMoof(view, moof) {
  const mfhd = field(view, child(view, moof, 'mfhd'));
  const traf = child(view, moof, 'traf');
  const tfdt = field(view, child(view, traf, 'tfdt'));
  const defaults = readTfhd(field(view, child(view, traf, 'tfhd')));
  const run = readTrun(field(view, child(view, traf, 'trun')), defaults);
  const captureUs = tfdt.version === 0 ? tfdt.u32() : tfdt.u64();
  if (!Number.isSafeInteger(captureUs)) {
    throw new Error('tfdt beyond 2^53');
  }
  return {
    kind: 'fragment',
    number: mfhd.u32(),
    captureUs: captureUs,
    durationUs: run.duration,
    keyframe: (run.flags & NOT_SYNC) === 0,
  };
}

/**
 * Track fragment header: the defaults for its samples, §8.8.7.
 * @param {Reader} tfhd
 * @returns {{duration: number | null, flags: number | null}}
 */
function readTfhd(tfhd) {
  tfhd.u32();
  if (tfhd.flags & 0x1) { tfhd.u64(); }
  if (tfhd.flags & 0x2) { tfhd.u32(); }
  const duration = tfhd.flags & 0x8 ? tfhd.u32() : null;
  if (tfhd.flags & 0x10) { tfhd.u32(); }
  const flags = tfhd.flags & 0x20 ? tfhd.u32() : null;
  return { duration: duration, flags: flags };
}

/**
 * Track run: how long it lasts and its first sample's flags, §8.8.8.
 * @param {Reader} trun
 * @param {{duration: number | null, flags: number | null}} defaults
 * @returns {{duration: number, flags: number}}
 */
function readTrun(trun, defaults) {
  const count = trun.u32();
  if (count < 1 || count > MOST_SAMPLES) {
    throw new Error('trun of ' + count + ' samples');
  }
  if (trun.flags & 0x1) { trun.u32(); }
  let first = trun.flags & 0x4 ? trun.u32() : null;
  let duration = 0;
  for (let i = 0; i < count; i += 1) {
    const own = trun.flags & 0x100 ? trun.u32() : defaults.duration;
    if (own === null) {
      throw new Error('a sample has no duration');
    }
    duration += own;
    if (trun.flags & 0x200) { trun.u32(); }
    const flags = trun.flags & 0x400 ? trun.u32() : defaults.flags;
    if (i === 0 && first === null) { first = flags; }
    if (trun.flags & 0x800) { trun.u32(); }
  }
  if (first === null) {
    throw new Error('a sample has no flags');
  }
  return { duration: duration, flags: first };
}

/**
 * The boxes directly inside a stretch of bytes.
 * @param {DataView} view
 * @param {{start: number, end: number}} within
 * @returns {Box[]}
 */
function boxesIn(view, within) {
  const found = [];
  let at = within.start;
  while (at < within.end) {
    if (within.end - at < 8) {
      throw new Error('half a box at ' + at);
    }
    let size = view.getUint32(at);
    let header = 8;
    if (size === 1) {
      if (within.end - at < 16) {
        throw new Error('half a box at ' + at);
      }
      size = view.getUint32(at + 8) * 4294967296 + view.getUint32(at + 12);
      header = 16;
    }
    if (size < header || at + size > within.end) {
      throw new Error('box of ' + size + ' bytes at ' + at + ' does not fit');
    }
    let name = '';
    for (let i = 4; i < 8; i += 1) {
      name += String.fromCharCode(view.getUint8(at + i));
    }
    found.push({ name: name, start: at + header, end: at + size });
    at += size;
  }
  return found;
}

/**
 * @param {DataView} view
 * @param {{start: number, end: number}} within
 * @param {string} name
 * @returns {Box}
 */
function child(view, within, name) {
  const found = boxesIn(view, within).filter(function (box) { return box.name === name; });
  if (found.length !== 1) {
    throw new Error(found.length + ' ' + name + ' boxes where one belongs');
  }
  return found[0];
}

/**
 * @typedef {object} Reader reads a full box's fields one after the other
 * @property {number} version
 * @property {number} flags
 * @property {() => number} u32
 * @property {() => number} u64
 */

/**
 * @param {DataView} view
 * @param {Box} box
 * @returns {Reader}
 */
function field(view, box) {
  let at = box.start;
  function u32() {
    if (at + 4 > box.end) {
      throw new Error(box.name + ' is too short');
    }
    at += 4;
    return view.getUint32(at - 4);
  }
  const word = u32();
  return {
    version: word >>> 24,
    flags: word & 0xffffff,
    u32: u32,
    u64: function () {
      const high = u32();
      return high * 4294967296 + u32();
    },
  };
}
