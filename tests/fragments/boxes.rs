//! A strict reader of boxes, written from ISO/IEC 14496-12 alone: §4.2 for what
//! a box is, §8.8 for the boxes of a movie fragment. It shares no code with the
//! writer it judges, and forgives nothing.
//!
//! Not here: what a particular stream should hold (the tests say), or decoding.

/// One box.
pub(crate) struct Node<'a> {
    /// Its type.
    pub(crate) kind: &'a str,
    /// Where it starts, counted from the first byte walked.
    pub(crate) start: usize,
    /// Where its payload starts.
    pub(crate) payload_start: usize,
    /// Everything behind its header.
    pub(crate) payload: &'a [u8],
    /// The boxes in it, where it is one that holds boxes.
    pub(crate) children: Vec<Node<'a>>,
}

/// A full box (§4.2): a version and flags in front of its fields.
pub(crate) struct Full<'a> {
    pub(crate) version: u8,
    pub(crate) flags: u32,
    pub(crate) fields: &'a [u8],
}

/// How many bytes of fields stand before the boxes inside a box; `None` for
/// one that holds none.
fn fields_before_children(kind: &str) -> Option<usize> {
    match kind {
        "moov" | "trak" | "mdia" | "minf" | "dinf" | "stbl" | "mvex" | "moof" | "traf" => Some(0),
        // §8.7.2 and §8.5.2: version, flags and an entry count.
        "dref" | "stsd" => Some(8),
        // §8.5.2 and §12.1.3: a sample entry's 8 bytes, a visual one's 70 more.
        "avc1" => Some(78),
        _ => None,
    }
}

/// The boxes these bytes are, without a byte left over.
pub(crate) fn walk(bytes: &[u8]) -> Result<Vec<Node<'_>>, String> {
    boxes(bytes, 0, true)
}

fn boxes(bytes: &[u8], base: usize, outermost: bool) -> Result<Vec<Node<'_>>, String> {
    let mut nodes = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        let (node, length) = one(&bytes[at..], base + at, outermost)?;
        nodes.push(node);
        at += length;
    }
    Ok(nodes)
}

/// The box at the front, and its length.
fn one(bytes: &[u8], start: usize, outermost: bool) -> Result<(Node<'_>, usize), String> {
    let short = || format!("a box header at {start} is cut short");
    let size = be32(bytes, 0).ok_or_else(short)?;
    let kind = bytes.get(4..8).ok_or_else(short)?;
    let kind = std::str::from_utf8(kind).map_err(|_| format!("no type at {start}"))?;
    // §4.2: a size of 1 means that 64 bits of it follow the type; a size of 0
    // means that the box reaches to the end of the file, so it is the last.
    let (header, length) = match size {
        0 if outermost => (8, bytes.len()),
        0 => {
            return Err(format!(
                "{kind} at {start}: only a last outermost box has no size"
            ));
        }
        1 => {
            let large = bytes.get(8..16).ok_or_else(short)?;
            let large = large.iter().fold(0_u64, |n, b| n << 8 | u64::from(*b));
            (16, usize::try_from(large).map_err(|e| e.to_string())?)
        }
        size => (8, size as usize),
    };
    if length < header || length > bytes.len() {
        let room = bytes.len();
        return Err(format!(
            "{kind} at {start} says {length} bytes where {room} are"
        ));
    }
    let payload = &bytes[header..length];
    let payload_start = start + header;
    let children = match fields_before_children(kind) {
        None => Vec::new(),
        Some(fields) => {
            let inside = payload
                .get(fields..)
                .ok_or_else(|| format!("{kind} at {start} is too short for its fields"))?;
            boxes(inside, payload_start + fields, false)?
        }
    };
    if matches!(kind, "dref" | "stsd") && be32(payload, 4) != u32::try_from(children.len()).ok() {
        return Err(format!("{kind} at {start} miscounts its entries"));
    }
    let node = Node {
        kind,
        start,
        payload_start,
        payload,
        children,
    };
    Ok((node, length))
}

/// Big-endian, as every number in a box (§4.2).
pub(crate) fn be32(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at + 4)?;
    Some(u32::from_be_bytes(four.try_into().ok()?))
}

/// The nesting as one line: `moof(mfhd traf(tfhd tfdt trun)) mdat`.
pub(crate) fn shape(nodes: &[Node<'_>]) -> String {
    let each = nodes.iter().map(|node| {
        if node.children.is_empty() {
            node.kind.to_owned()
        } else {
            format!("{}({})", node.kind, shape(&node.children))
        }
    });
    each.collect::<Vec<_>>().join(" ")
}

/// The only box down this path.
pub(crate) fn at<'n, 'a>(nodes: &'n [Node<'a>], path: &[&str]) -> &'n Node<'a> {
    let (first, rest) = path.split_first().expect("a path has a first step");
    let mut found = nodes.iter().filter(|node| node.kind == *first);
    let node = found
        .next()
        .unwrap_or_else(|| panic!("there is no {first}"));
    assert!(found.next().is_none(), "there is more than one {first}");
    if rest.is_empty() {
        node
    } else {
        at(&node.children, rest)
    }
}

impl<'a> Node<'a> {
    /// This box as a full one.
    pub(crate) fn full(&self) -> Full<'a> {
        let head = be32(self.payload, 0).expect("a full box has a version and flags");
        Full {
            version: (head >> 24) as u8,
            flags: head & 0x00ff_ffff,
            fields: &self.payload[4..],
        }
    }
}

/// A fragment of a single picture, as §8.8 lays it out.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct OnePicture<'a> {
    /// §8.8.5: which fragment this is.
    pub(crate) sequence_number: u32,
    /// §8.8.12: the decode time, in the track's timescale.
    pub(crate) decode_time: u64,
    /// §8.8.8: until the next picture.
    pub(crate) duration: u32,
    /// §8.8.3.1: what it depends on and whether it is a sync sample.
    pub(crate) sample_flags: u32,
    /// The access unit.
    pub(crate) picture: &'a [u8],
}

/// §8.8.7.1: offsets count from the start of the `moof`.
const DEFAULT_BASE_IS_MOOF: u32 = 0x02_0000;
/// §8.8.8.1: data offset and first sample's flags; then duration and size of each.
const TRUN_FLAGS: u32 = 0x00_0305;

/// Reads a fragment that has to be one `moof` and one `mdat` with one picture of
/// track 1, everything about it said explicitly.
pub(crate) fn one_picture(fragment: &[u8]) -> Result<OnePicture<'_>, String> {
    let nodes = walk(fragment)?;
    let same = |what: &str, is: u64, should: u64| {
        let wrong = || format!("{what} is {is:#x} and should be {should:#x}");
        (is == should).then_some(()).ok_or_else(wrong)
    };
    let nesting = shape(&nodes);
    if nesting != "moof(mfhd traf(tfhd tfdt trun)) mdat" {
        return Err(format!("not the nesting of one picture: {nesting}"));
    }
    let field = |full: &Full<'_>, index: usize| be32(full.fields, index * 4).unwrap_or(0);
    // §8.8.5.2: version 0, no flags, the number.
    let mfhd = at(&nodes, &["moof", "mfhd"]).full();
    same("mfhd's length", mfhd.fields.len() as u64, 4)?;
    same(
        "mfhd's version and flags",
        u64::from(mfhd.version) + u64::from(mfhd.flags),
        0,
    )?;
    // §8.8.7.2: the track, and none of the optional fields.
    let tfhd = at(&nodes, &["moof", "traf", "tfhd"]).full();
    same("tfhd's version", tfhd.version.into(), 0)?;
    same(
        "tfhd's flags",
        tfhd.flags.into(),
        DEFAULT_BASE_IS_MOOF.into(),
    )?;
    same("tfhd's length", tfhd.fields.len() as u64, 4)?;
    same("the track", field(&tfhd, 0).into(), 1)?;
    // §8.8.12.2: version 1 has 64 bits.
    let tfdt = at(&nodes, &["moof", "traf", "tfdt"]).full();
    same("tfdt's version", tfdt.version.into(), 1)?;
    same("tfdt's flags", tfdt.flags.into(), 0)?;
    same("tfdt's length", tfdt.fields.len() as u64, 8)?;
    // §8.8.8.2: sample count, data offset, first sample's flags, duration, size.
    let trun = at(&nodes, &["moof", "traf", "trun"]).full();
    // Version 1 differs from 0 in composition offsets only, and there are none.
    same("trun's version", (trun.version & !1).into(), 0)?;
    same("trun's flags", trun.flags.into(), TRUN_FLAGS.into())?;
    same("trun's length", trun.fields.len() as u64, 5 * 4)?;
    same("the samples", field(&trun, 0).into(), 1)?;
    let (moof, mdat) = (at(&nodes, &["moof"]), at(&nodes, &["mdat"]));
    let offset = (mdat.payload_start - moof.start) as u64;
    same("the data offset", field(&trun, 1).into(), offset)?;
    same(
        "the sample's size",
        field(&trun, 4).into(),
        mdat.payload.len() as u64,
    )?;
    Ok(OnePicture {
        sequence_number: field(&mfhd, 0),
        decode_time: u64::from(field(&tfdt, 0)) << 32 | u64::from(field(&tfdt, 1)),
        duration: field(&trun, 3),
        sample_flags: field(&trun, 2),
        picture: mdat.payload,
    })
}

impl OnePicture<'_> {
    /// §8.8.3.1: `sample_is_non_sync_sample` is the bit with value `0x10000`,
    /// `sample_depends_on` the two from `0x1000000` on: 2 says that it depends
    /// on no other, 1 that it does. The two have to agree.
    pub(crate) fn keyframe(&self) -> bool {
        match self.sample_flags {
            0x0200_0000 => true,
            0x0101_0000 => false,
            other => panic!("sample flags {other:#x} say more or less than they should"),
        }
    }
}
