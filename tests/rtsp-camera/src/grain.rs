//! Film grain: noise that no encoder can predict, so that a stream really takes
//! the bit rate it is set to.
//!
//! Not here: randomness worth the name. It only has to look different each time.

/// Long enough that no row of a picture repeats the one above it.
const NOISE_BYTES: usize = (1 << 16) + 4096;

/// A strip of noise, laid over each picture at another place.
pub(crate) struct Grain {
    noise: Vec<i8>,
    dice: u64,
}

impl Grain {
    /// Grain of up to this many steps of brightness either way; 0 does nothing.
    pub(crate) fn new(strength: u8) -> Self {
        let mut grain = Self {
            noise: Vec::new(),
            dice: 0x9e37_79b9_7f4a_7c15,
        };
        if strength > 0 {
            let span = u64::from(strength) * 2 + 1;
            grain.noise = (0..NOISE_BYTES)
                .map(|_| (grain.throw() % span) as i8 - strength as i8)
                .collect();
        }
        grain
    }

    /// Lays it over brightness values.
    pub(crate) fn over(&mut self, luma: &mut [u8]) {
        if self.noise.is_empty() {
            return;
        }
        for row in luma.chunks_mut(1024) {
            let from = (self.throw() as usize) % (NOISE_BYTES - 1024);
            for (value, noise) in row.iter_mut().zip(&self.noise[from..]) {
                *value = value.saturating_add_signed(*noise);
            }
        }
    }

    /// A step of xorshift (Marsaglia, 2003).
    fn throw(&mut self) -> u64 {
        self.dice ^= self.dice << 13;
        self.dice ^= self.dice >> 7;
        self.dice ^= self.dice << 17;
        self.dice >> 16
    }
}
