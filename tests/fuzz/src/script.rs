//! Bytes read as a script: what happens next, and how much of it.
//!
//! Not here: what the numbers mean. An input that ends early goes on with
//! zeros for the number being read, so every input is a script.

/// What is left of an input.
pub(crate) struct Script<'a> {
    rest: &'a [u8],
}

impl<'a> Script<'a> {
    pub(crate) const fn new(input: &'a [u8]) -> Self {
        Self { rest: input }
    }

    /// The next byte, which says what happens; `None` at the end.
    pub(crate) fn act(&mut self) -> Option<u8> {
        let (first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(*first)
    }

    fn number<const BYTES: usize>(&mut self) -> u64 {
        (0..BYTES).fold(0, |number, _| {
            number << 8 | u64::from(self.act().unwrap_or(0))
        })
    }

    pub(crate) fn u8(&mut self) -> u8 {
        self.number::<1>() as u8
    }

    pub(crate) fn u16(&mut self) -> u16 {
        self.number::<2>() as u16
    }

    pub(crate) fn i16(&mut self) -> i16 {
        self.u16() as i16
    }

    pub(crate) fn u32(&mut self) -> u32 {
        self.number::<4>() as u32
    }

    pub(crate) fn u64(&mut self) -> u64 {
        self.number::<8>()
    }

    /// One of a list.
    pub(crate) fn one_of<T: Copy>(&mut self, list: &[T]) -> T {
        list[usize::from(self.u8()) % list.len()]
    }

    /// So many bytes, or what is left.
    pub(crate) fn bytes(&mut self, count: usize) -> &'a [u8] {
        let (taken, rest) = self.rest.split_at(count.min(self.rest.len()));
        self.rest = rest;
        taken
    }

    /// Everything that is left.
    pub(crate) fn rest(&mut self) -> &'a [u8] {
        std::mem::take(&mut self.rest)
    }
}
