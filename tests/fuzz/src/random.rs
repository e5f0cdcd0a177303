//! The loop's random numbers: `SplitMix64`, after G. L. Steele, D. Lea and C. H.
//! Flood, "Fast Splittable Pseudorandom Number Generators" (OOPSLA 2014). The
//! same seed gives the same inputs on every machine.
//!
//! Not here: what is made of them.

/// A stream of numbers that depends on its seed alone.
#[derive(Clone)]
pub(crate) struct Random(u64);

impl Random {
    /// The stream of one body; those of two bodies do not resemble each other.
    pub(crate) fn of(seed: u64, name: &str) -> Self {
        let mixed = name.bytes().fold(seed, |mixed, byte| {
            Self(mixed ^ u64::from(byte).rotate_left(32)).next()
        });
        Self(mixed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn byte(&mut self) -> u8 {
        self.next() as u8
    }

    /// From 0 to just below `most`, which is not 0. The remainder favours small
    /// numbers by a hair, which no input minds.
    pub(crate) fn below(&mut self, most: usize) -> usize {
        (self.next() % most as u64) as usize
    }

    pub(crate) fn pick<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.below(from.len())]
    }
}
