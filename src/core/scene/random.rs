//! The scene's own small random numbers: `SplitMix64`, after G. L. Steele,
//! D. Lea and C. H. Flood, "Fast Splittable Pseudorandom Number Generators"
//! (OOPSLA 2014). The same seed gives the same gym on every machine.
//!
//! Not here: anything for secrets.

/// A stream of numbers that depends on its seed alone.
#[derive(Debug)]
pub(super) struct Random(u64);

impl Random {
    /// The stream with this number of the seed; streams do not resemble each
    /// other, so any part of a schedule can be made without the parts before.
    pub(super) fn new(seed: u64, stream: u64) -> Self {
        let mut first = Self(seed);
        let mixed = first.next();
        Self(mixed ^ Self(stream).next())
    }

    /// The next 64 bits.
    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to just below 1.
    pub(super) fn unit(&mut self) -> f32 {
        // 24 bits are what an f32 holds exactly.
        (self.next() >> 40) as f32 / (1_u32 << 24) as f32
    }

    /// From `low` to just below `high`.
    pub(super) fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.unit()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first outputs for seed 1234567, as listed with the reference
    /// implementation by S. Vigna (prng.di.unimi.it/splitmix64.c) on Rosetta
    /// Code, "Pseudo-random numbers/Splitmix64".
    #[test]
    fn the_numbers_are_the_published_ones() {
        let mut random = Random(1_234_567);
        let got: [u64; 5] = std::array::from_fn(|_| random.next());
        assert_eq!(
            got,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }
}
