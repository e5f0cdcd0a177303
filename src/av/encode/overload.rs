//! When is a machine too slow for what it encodes? Judged by the pictures that
//! had to be left out, over seconds, so that one hiccup is none.
//!
//! Not here: what is done about it, and any clock: pictures bring their time.

/// Looked at in stretches of this length…
const STRETCH_NS: u64 = 1_000_000_000;
/// …of which so many in a row have to be bad…
const BAD_IN_A_ROW: u32 = 3;
/// …by leaving out more than this share. A picture in twelve is seen as a
/// slight unevenness; beyond that smaller pictures are better than fewer.
const BAD_SHARE: f64 = 0.08;
/// A stretch this late after the last picture is a new beginning.
const PAUSE_NS: u64 = 2 * STRETCH_NS;

/// Counts pictures kept and left out.
#[derive(Debug, Default)]
pub(super) struct Overload {
    /// Start of the stretch, and what was counted in it.
    stretch: Option<Stretch>,
    bad_in_a_row: u32,
    said: bool,
}

#[derive(Clone, Copy, Debug)]
struct Stretch {
    from_ns: u64,
    pictures: u32,
    left_out: u32,
}

impl Stretch {
    const fn starting(from_ns: u64) -> Self {
        Self {
            from_ns,
            pictures: 0,
            left_out: 0,
        }
    }

    fn is_bad(self) -> bool {
        f64::from(self.left_out) > f64::from(self.pictures) * BAD_SHARE
    }
}

impl Overload {
    /// Takes in a picture; true once, when it has become clear that the machine
    /// is too slow.
    pub(super) fn picture(&mut self, pts_ns: u64, kept: bool) -> bool {
        let mut stretch = self.stretch.unwrap_or(Stretch::starting(pts_ns));
        let into_ns = pts_ns.checked_sub(stretch.from_ns);
        match into_ns {
            Some(0..STRETCH_NS) => {}
            Some(STRETCH_NS..PAUSE_NS) => {
                self.bad_in_a_row = if stretch.is_bad() {
                    self.bad_in_a_row + 1
                } else {
                    0
                };
                stretch = Stretch::starting(pts_ns);
            }
            _ => {
                self.bad_in_a_row = 0;
                stretch = Stretch::starting(pts_ns);
            }
        }
        stretch.pictures += 1;
        stretch.left_out += u32::from(!kept);
        self.stretch = Some(stretch);
        let now_clear = self.bad_in_a_row >= BAD_IN_A_ROW && !self.said;
        self.said |= now_clear;
        now_clear
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The second in which it is said, of `seconds` in which `left_out` tells
    /// whether a picture is.
    fn said_at(seconds: u64, left_out: impl Fn(u64) -> bool) -> Vec<u64> {
        let mut overload = Overload::default();
        (0..seconds * 30)
            .filter(|n| overload.picture(n * 33_333_333, !left_out(*n)))
            .map(|n| n / 30)
            .collect()
    }

    #[test]
    fn a_machine_that_keeps_up_is_left_alone() {
        assert!(said_at(60, |_| false).is_empty());
        // One in fifteen.
        assert!(said_at(60, |n| n.is_multiple_of(15)).is_empty());
    }

    #[test]
    fn three_bad_seconds_in_a_row_are_said_once() {
        assert_eq!(said_at(60, |n| n.is_multiple_of(4)), [3]);
    }

    #[test]
    fn a_bad_second_is_a_hiccup_however_often() {
        assert!(said_at(60, |n| (n / 30) % 3 == 0 && n % 2 == 0).is_empty());
    }

    #[test]
    fn after_a_pause_it_counts_anew() {
        let mut overload = Overload::default();
        let said: Vec<u64> = (0..60)
            .filter(|second| {
                // Two bad seconds, then five without a picture.
                let from_ns = (second / 2 * 7 + second % 2) * STRETCH_NS;
                (0..30).any(|n| overload.picture(from_ns + n * 33_333_333, n % 2 == 0))
            })
            .collect();
        assert!(said.is_empty(), "{said:?}");
    }
}
