//! Makes inputs: out of nothing, or by spoiling a good one.
//!
//! Not here: deciding whether an input is worth keeping; none is.

use crate::{Body, random::Random};

/// Numbers at which readers of lengths and times go wrong first.
const EDGES: [u64; 14] = [
    0,
    1,
    2,
    7,
    8,
    0x7f,
    0x80,
    0xff,
    0xffff,
    0x7fff_ffff,
    0x8000_0000,
    0xffff_ffff,
    i64::MAX as u64,
    u64::MAX,
];

/// The next input for a body.
pub(crate) fn input(body: &Body, seeds: &[Vec<u8>], random: &mut Random) -> Vec<u8> {
    let mut input = if seeds.is_empty() || random.below(8) == 0 {
        let length = random.below(body.most_bytes.min(400) + 1);
        (0..length).map(|_| random.byte()).collect()
    } else {
        seeds[random.below(seeds.len())].clone()
    };
    // One change finds what is checked once, several what is checked twice; but
    // most readers refuse at the first.
    let most = if random.below(4) == 0 { 12 } else { 3 };
    for _ in 0..=random.below(most) {
        change(&mut input, body, seeds, random);
    }
    input.truncate(body.most_bytes);
    input
}

/// Where something may be put: anywhere, the end included.
fn place(input: &[u8], random: &mut Random) -> usize {
    random.below(input.len() + 1)
}

/// A stretch of the input, mostly a short one.
fn stretch(input: &[u8], random: &mut Random) -> std::ops::Range<usize> {
    let from = place(input, random);
    let most = (input.len() - from).min(if random.below(4) == 0 { 200 } else { 8 });
    from..from + random.below(most + 1)
}

fn change(input: &mut Vec<u8>, body: &Body, seeds: &[Vec<u8>], random: &mut Random) {
    match random.below(11) {
        0 | 1 if !input.is_empty() => {
            let at = random.below(input.len());
            input[at] ^= 1 << random.below(8);
        }
        2 if !input.is_empty() => {
            let at = random.below(input.len());
            input[at] = random.byte();
        }
        3 => {
            let cut = stretch(input, random);
            input.drain(cut);
        }
        4 => {
            let copied = input[stretch(input, random)].to_vec();
            let at = place(input, random);
            input.splice(at..at, copied);
        }
        5 => {
            // A number of one, two, four or eight bytes, written over what is there.
            let edge = EDGES[random.below(EDGES.len())].to_be_bytes();
            let edge = &edge[8 - (1 << random.below(4))..];
            let at = place(input, random);
            let end = (at + edge.len()).min(input.len());
            input.splice(at..end, edge.iter().copied());
        }
        6 if !body.words.is_empty() => {
            let word = random.pick(body.words);
            let gone = stretch(input, random);
            input.splice(gone, word.iter().copied());
        }
        7 if !seeds.is_empty() => {
            let other = &seeds[random.below(seeds.len())];
            let piece = other[stretch(other, random)].to_vec();
            let gone = stretch(input, random);
            input.splice(gone, piece);
        }
        8 | 9 => {
            // Another number where one is written out, which readers of text take.
            let at = place(input, random);
            let digit = (at..input.len()).find(|at| input[*at].is_ascii_digit());
            if let Some(at) = digit {
                input[at] = b'0' + random.below(10) as u8;
            }
        }
        _ => {
            let at = place(input, random);
            let new: Vec<u8> = (0..=random.below(16)).map(|_| random.byte()).collect();
            input.splice(at..at, new);
        }
    }
}
