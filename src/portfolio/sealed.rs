//! The file of one thing kept: sealed in chunks, each vouching for its place and
//! for whether it is the last, so that none can be changed, moved, left out or
//! cut off unnoticed.
//!
//! It is the STREAM construction (Hoang, Reyhanitabar, Rogaway and Vizár, *Online
//! Authenticated-Encryption and its Nonce-Reuse Misuse-Resistance*, CRYPTO 2015)
//! over XChaCha20-Poly1305: a random prefix of 19 bytes, a counter and a mark on
//! the last chunk make each nonce. The key is random, for this file alone, and
//! stands in the item's row, wrapped by the master key: without the row the file
//! is noise.
//!
//! Not here: the disk, and what is in the file.

use std::ops::Deref;

use aead_stream::{DecryptorBE32, EncryptorBE32};
use afterturn_core::{
    consent::Interval,
    kernel::{CaptureUs, ItemId, StationNumber},
};
use chacha20poly1305::{XChaCha20Poly1305, aead::Payload};
use zeroize::Zeroizing;

use super::{DoesNotOpen, Key, seal::place, seal::random};

/// A chunk before it is sealed, and what sealing adds.
const CHUNK_BYTES: usize = 64 * 1024;
const TAG_BYTES: usize = 16;
const SEALED_BYTES: usize = CHUNK_BYTES + TAG_BYTES;
const PREFIX_BYTES: usize = 19;

/// What was kept, opened: overwritten when it goes, and it does not print.
pub struct Content(Zeroizing<Vec<u8>>);

impl Deref for Content {
    type Target = [u8];

    fn deref(&self) -> &[u8] {
        &self.0
    }
}

fn place_of(id: ItemId) -> Vec<u8> {
    place("media", &[&id.get().to_be_bytes()])
}

/// Seals a file of an item.
pub(super) fn seal(key: &Key, id: ItemId, plain: &[u8]) -> Vec<u8> {
    let prefix = random::<PREFIX_BYTES>();
    let place = place_of(id);
    let mut stream = EncryptorBE32::<XChaCha20Poly1305>::from_aead(key.cipher(), &prefix.into());
    let whole = plain.len() / CHUNK_BYTES + 1;
    let mut sealed = Vec::with_capacity(PREFIX_BYTES + plain.len() + whole * TAG_BYTES);
    sealed.extend_from_slice(&prefix);
    // The last chunk is shorter than the others, and empty if need be.
    let (chunks, last) = plain.split_at(plain.len() / CHUNK_BYTES * CHUNK_BYTES);
    let of = |msg| Payload { msg, aad: &place };
    for chunk in chunks.chunks_exact(CHUNK_BYTES) {
        let chunk = stream.encrypt_next(of(chunk));
        sealed.extend(chunk.expect("a film has fewer chunks than there are counters"));
    }
    let last = stream.encrypt_last(of(last));
    sealed.extend(last.expect("a chunk is shorter than the cipher's limit"));
    sealed
}

/// How long the file of so many bytes is, sealed.
pub(super) const fn sealed_bytes(plain: u64) -> u64 {
    let chunks = plain / CHUNK_BYTES as u64 + 1;
    PREFIX_BYTES as u64 + plain + chunks * TAG_BYTES as u64
}

/// Opens a file of an item.
pub(super) fn open(key: &Key, id: ItemId, sealed: &[u8]) -> Result<Content, DoesNotOpen> {
    let (prefix, sealed) = sealed
        .split_first_chunk::<PREFIX_BYTES>()
        .ok_or(DoesNotOpen)?;
    let place = place_of(id);
    let mut stream = DecryptorBE32::<XChaCha20Poly1305>::from_aead(key.cipher(), &(*prefix).into());
    let (chunks, last) = sealed.split_at(sealed.len() / SEALED_BYTES * SEALED_BYTES);
    let of = |msg| Payload { msg, aad: &place };
    let mut plain = Zeroizing::new(Vec::with_capacity(sealed.len()));
    for chunk in chunks.chunks_exact(SEALED_BYTES) {
        let chunk = stream.decrypt_next(of(chunk)).map_err(|_| DoesNotOpen)?;
        plain.extend_from_slice(&Zeroizing::new(chunk));
    }
    let last = stream.decrypt_last(of(last)).map_err(|_| DoesNotOpen)?;
    plain.extend_from_slice(&Zeroizing::new(last));
    Ok(Content(plain))
}

/// What the row of an item seals: the key of its file, and what is known of it.
pub(super) struct Inside {
    pub(super) key: Key,
    pub(super) bytes: u64,
    pub(super) interval: Interval,
    pub(super) station: Option<StationNumber>,
    pub(super) covered: bool,
}

/// The form of what follows, for one that comes later.
const FORM: u8 = 1;

impl Inside {
    pub(super) fn write(&self) -> Zeroizing<Vec<u8>> {
        let mut out = Zeroizing::new(vec![FORM]);
        out.extend_from_slice(self.key.bytes());
        out.extend(self.bytes.to_be_bytes());
        out.extend(self.interval.from.0.to_be_bytes());
        out.extend(self.interval.to.0.to_be_bytes());
        out.extend(self.interval.offset_s.to_be_bytes());
        out.push(self.station.map_or(0, StationNumber::get));
        out.push(u8::from(self.covered));
        out
    }

    pub(super) fn read(bytes: &[u8]) -> Result<Self, DoesNotOpen> {
        let mut rest = bytes;
        let form = *take::<1>(&mut rest)?;
        let key = Key::of(take(&mut rest)?);
        let size = u64::from_be_bytes(*take(&mut rest)?);
        let from = CaptureUs(u64::from_be_bytes(*take(&mut rest)?));
        let to = CaptureUs(u64::from_be_bytes(*take(&mut rest)?));
        let offset_s = i32::from_be_bytes(*take(&mut rest)?);
        let [station, covered] = *take(&mut rest)?;
        if form != [FORM] || !rest.is_empty() {
            return Err(DoesNotOpen);
        }
        Ok(Self {
            key,
            bytes: size,
            interval: Interval { from, to, offset_s },
            station: i64::from(station).try_into().ok(),
            covered: covered != 0,
        })
    }
}

fn take<'b, const N: usize>(rest: &mut &'b [u8]) -> Result<&'b [u8; N], DoesNotOpen> {
    let (first, others) = rest.split_first_chunk().ok_or(DoesNotOpen)?;
    *rest = others;
    Ok(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn id() -> ItemId {
        ItemId::from_kept(5)
    }

    fn film(bytes: usize) -> Vec<u8> {
        (0..bytes).map(|at| (at % 251) as u8).collect()
    }

    #[test]
    fn a_file_of_any_length_comes_back() {
        let key = Key::random();
        for bytes in [
            0,
            1,
            CHUNK_BYTES - 1,
            CHUNK_BYTES,
            CHUNK_BYTES + 1,
            3 * CHUNK_BYTES,
        ] {
            let sealed = seal(&key, id(), &film(bytes));
            assert_eq!(sealed.len() as u64, sealed_bytes(bytes as u64));
            let opened = open(&key, id(), &sealed).expect("it opens");
            assert!(opened[..] == film(bytes), "{bytes} bytes");
        }
    }

    #[test]
    fn it_opens_with_its_key_for_its_item_and_whole() {
        let key = Key::random();
        let sealed = seal(&key, id(), &film(2 * CHUNK_BYTES + 100));
        assert!(open(&Key::random(), id(), &sealed).is_err());
        assert!(open(&key, ItemId::from_kept(6), &sealed).is_err());
        for at in (0..sealed.len()).step_by(1009).chain([sealed.len() - 1]) {
            let mut flipped = sealed.clone();
            flipped[at] ^= 1 << (at % 8);
            assert!(open(&key, id(), &flipped).is_err(), "byte {at}");
            assert!(open(&key, id(), &sealed[..at]).is_err(), "cut at {at}");
        }
    }

    #[test]
    fn chunks_cannot_be_left_out_moved_or_added() {
        const SEALED: usize = CHUNK_BYTES + TAG_BYTES;
        let key = Key::random();
        let sealed = seal(&key, id(), &film(3 * CHUNK_BYTES));
        let (prefix, rest) = sealed.split_at(PREFIX_BYTES);
        let chunk = |n: usize| &rest[n * SEALED..((n + 1) * SEALED).min(rest.len())];
        assert_eq!(chunk(3).len(), TAG_BYTES, "the last is empty");
        for order in [
            &[0, 1][..],
            &[0, 1, 2],
            &[0, 2, 3],
            &[1, 0, 2, 3],
            &[0, 1, 2, 3, 3],
        ] {
            let chunks = order.iter().flat_map(|n| chunk(*n));
            let other: Vec<u8> = prefix.iter().chain(chunks).copied().collect();
            assert!(open(&key, id(), &other).is_err(), "{order:?}");
        }
        assert!(open(&key, id(), &sealed).is_ok());
    }

    #[test]
    fn what_a_row_seals_comes_back() {
        let inside = Inside {
            key: Key::random(),
            bytes: 77,
            interval: Interval {
                from: CaptureUs(5),
                to: CaptureUs(9),
                offset_s: -18_000,
            },
            station: 4.try_into().ok(),
            covered: true,
        };
        let written = inside.write();
        let read = Inside::read(&written).expect("as it was written");
        assert!(read.key.is(&inside.key));
        assert_eq!(
            (read.bytes, read.interval, read.station),
            (77, inside.interval, inside.station)
        );
        for cut in 0..written.len() {
            assert!(Inside::read(&written[..cut]).is_err(), "cut at {cut}");
        }
    }
}
