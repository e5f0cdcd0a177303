//! What size, rate and bit rate pictures are encoded at: what a TV plays, and
//! what this machine can keep up with.
//!
//! Not here: any encoder. These are numbers.

/// A picture's size as it is shown, in square pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dimensions {
    /// Columns.
    pub width_px: u32,
    /// Rows.
    pub height_px: u32,
}

impl Dimensions {
    /// What a station shows unless told otherwise. Some TVs hold little more
    /// than ten seconds of 1080p in a media source.
    pub const HD: Self = Self::new(1280, 720);

    /// A size.
    #[must_use]
    pub const fn new(width_px: u32, height_px: u32) -> Self {
        Self {
            width_px,
            height_px,
        }
    }

    pub(super) const fn pixels(self) -> u64 {
        self.width_px as u64 * self.height_px as u64
    }

    /// Whether it lies within `most`.
    const fn within(self, most: Self) -> bool {
        self.width_px <= most.width_px && self.height_px <= most.height_px
    }
}

/// Pictures a second, as the fraction that cameras and files give: 30000/1001.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rate {
    /// So many pictures…
    pub pictures: u32,
    /// …in so many seconds. Never 0.
    pub seconds: u32,
}

impl Rate {
    /// A rate; `None` where it says nothing, as 0/1 does.
    #[must_use]
    pub const fn new(pictures: u32, seconds: u32) -> Option<Self> {
        if pictures == 0 || seconds == 0 {
            return None;
        }
        Some(Self { pictures, seconds })
    }

    /// Pictures a second.
    #[must_use]
    pub fn per_s(self) -> f64 {
        f64::from(self.pictures) / f64::from(self.seconds)
    }

    /// One picture of `among` of this rate.
    pub(super) const fn one_in(self, among: u32) -> Self {
        Self {
            pictures: self.pictures,
            seconds: self.seconds * among,
        }
    }
}

/// The most that is encoded: a box that pictures are fitted into, and a rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Most {
    /// The box.
    pub size: Dimensions,
    /// Pictures a second.
    pub fps: u32,
}

/// What is encoded where nothing else is said.
pub const USUAL: Most = Most {
    size: Dimensions::HD,
    fps: 30,
};

/// Level 4.1, the highest that TVs are sure to play: macroblocks in a picture
/// and in a second (ITU-T H.264 Table A-1).
const LEVEL_4_1: (u64, u64) = (8_192, 245_760);

/// Macroblocks of 16×16 pixels, begun ones counted.
const fn macroblocks(size: Dimensions) -> u64 {
    size.width_px.div_ceil(16) as u64 * size.height_px.div_ceil(16) as u64
}

/// Whether a TV is sure to play it.
#[must_use]
pub const fn fits_level_4_1(most: Most) -> bool {
    let blocks = macroblocks(most.size);
    blocks <= LEVEL_4_1.0 && blocks * most.fps as u64 <= LEVEL_4_1.1
}

/// Sizes to step down through; what is asked for stands before them.
const SMALLER: [Dimensions; 4] = [
    Dimensions::new(1920, 1080),
    Dimensions::HD,
    Dimensions::new(960, 540),
    Dimensions::new(640, 360),
];

/// The rate of the last step: movement still reads, a hold looks the same.
const SLOW_FPS: u32 = 15;

/// What is tried in turn where a machine is too slow: smaller pictures first,
/// then fewer of them.
#[must_use]
pub fn steps(wanted: Most) -> Vec<Most> {
    let smaller = SMALLER
        .into_iter()
        .filter(|size| size.within(wanted.size) && *size != wanted.size)
        .map(|size| Most { size, ..wanted });
    let mut steps: Vec<_> = std::iter::once(wanted).chain(smaller).collect();
    if let Some(last) = steps.last().copied().filter(|last| last.fps > SLOW_FPS) {
        steps.push(Most {
            fps: SLOW_FPS,
            ..last
        });
    }
    steps
}

/// The first of `steps` that `streams` of them at once leave room for, given
/// what the encoder does in a second; the last where none does.
#[must_use]
pub(super) fn affordable(steps: &[Most], streams: u32, pixels_per_s: f64) -> usize {
    let takes =
        |most: &Most| most.size.pixels() as f64 * f64::from(most.fps) * f64::from(streams.max(1));
    steps
        .iter()
        .position(|most| takes(most) <= pixels_per_s)
        .unwrap_or(steps.len().saturating_sub(1))
}

/// A raw picture's size as its source gives it: pixels that may not be square.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Raw {
    pub(super) size: Dimensions,
    /// Width of a pixel by its height.
    pub(super) aspect: (u32, u32),
}

/// The largest size within `most` that keeps the picture's shape; even, as
/// 4:2:0 needs it, and never larger than the picture is.
pub(super) fn fitted(raw: Raw, most: Dimensions) -> Dimensions {
    let (wide, high) = raw.aspect;
    let width = f64::from(raw.size.width_px) * f64::from(wide.max(1)) / f64::from(high.max(1));
    let height = f64::from(raw.size.height_px);
    let scale = (f64::from(most.width_px) / width)
        .min(f64::from(most.height_px) / height)
        .min(1.0);
    // Down, so that the box holds; a picture has at least one macroblock.
    let even = |px: f64| ((px + 0.01) as u32 / 2 * 2).max(16);
    Dimensions::new(even(width * scale), even(height * scale))
}

/// Of a source this fast, one picture in so many is kept, so that no more than
/// `most_fps` are left; a little more is let pass, for no clock is exact.
pub(super) fn one_in(rate: Rate, most_fps: u32) -> u32 {
    let apart_s = 1.0 / rate.per_s();
    (KEPT_APART / f64::from(most_fps) / apart_s).ceil().max(1.0) as u32
}

/// Pictures nearer to each other than this share of the least interval are
/// thinned out. Three quarters lie between the jitter of a source at the full
/// rate and the pictures of one at twice the rate.
pub(super) const KEPT_APART: f64 = 0.75;

/// What 720p30 of a gym needs to look clean from an encoder in a hurry.
const HD_KBPS: f64 = 4000.0;

/// The bit rate for pictures of this size and rate. Larger pictures and quicker
/// ones resemble their neighbours more, so it grows more slowly than they do.
/// The exponent is common practice, no source.
#[must_use]
pub fn bitrate_kbps(size: Dimensions, fps: f64) -> u32 {
    const EXPONENT: f64 = 0.7;
    let share = size.pixels() as f64 / Dimensions::HD.pixels() as f64 * fps / 30.0;
    let kbps = HD_KBPS * share.powf(EXPONENT);
    ((kbps / 100.0).round() as u32 * 100).clamp(300, 10_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FULL_HD: Dimensions = Dimensions::new(1920, 1080);

    fn square(width_px: u32, height_px: u32) -> Raw {
        Raw {
            size: Dimensions::new(width_px, height_px),
            aspect: (1, 1),
        }
    }

    #[test]
    fn pictures_keep_their_shape_and_never_grow() {
        for (raw, most, fit) in [
            (square(1920, 1080), Dimensions::HD, (1280, 720)),
            (square(3840, 2160), FULL_HD, (1920, 1080)),
            (square(640, 480), Dimensions::HD, (640, 480)),
            (square(1440, 1080), Dimensions::HD, (960, 720)),
            // A telephone held upright.
            (square(1080, 1920), Dimensions::HD, (404, 720)),
            (square(321, 241), Dimensions::HD, (320, 240)),
            (square(8, 8), Dimensions::HD, (16, 16)),
            // PAL in 16:9 and in 4:3 (ITU-R BT.601 with the aspect ratios of
            // ITU-T H.264 Table E-1).
            (
                Raw {
                    aspect: (16, 11),
                    ..square(720, 576)
                },
                Dimensions::HD,
                (1046, 576),
            ),
            (
                Raw {
                    aspect: (12, 11),
                    ..square(720, 576)
                },
                Dimensions::HD,
                (784, 576),
            ),
            (
                Raw {
                    aspect: (0, 0),
                    ..square(640, 360)
                },
                Dimensions::HD,
                (640, 360),
            ),
        ] {
            let (width_px, height_px) = fit;
            let fit = Dimensions::new(width_px, height_px);
            assert_eq!(fitted(raw, most), fit, "{raw:?} in {most:?}");
        }
    }

    #[test]
    fn only_what_is_too_fast_is_thinned() {
        let rate = |pictures, seconds| Rate::new(pictures, seconds).unwrap();
        for (rate, most_fps, among) in [
            (rate(30, 1), 30, 1),
            (rate(30_000, 1_001), 30, 1),
            (rate(31, 1), 30, 1),
            (rate(50, 1), 30, 2),
            (rate(60_000, 1_001), 30, 2),
            (rate(60, 1), 30, 2),
            (rate(120, 1), 30, 3),
            (rate(15, 2), 30, 1),
            (rate(30, 1), 15, 2),
            (rate(25, 1), 15, 2),
        ] {
            assert_eq!(one_in(rate, most_fps), among, "{rate:?} at {most_fps}");
        }
        assert_eq!(Rate::new(0, 1), None);
    }

    #[test]
    fn steps_go_down_in_size_and_then_in_rate() {
        let all = |wanted| -> Vec<_> {
            steps(wanted)
                .into_iter()
                .map(|m| (m.size.width_px, m.size.height_px, m.fps))
                .collect()
        };
        assert_eq!(
            all(USUAL),
            [
                (1280, 720, 30),
                (960, 540, 30),
                (640, 360, 30),
                (640, 360, 15)
            ]
        );
        let small = Most {
            size: Dimensions::new(640, 480),
            fps: 15,
        };
        assert_eq!(all(small), [(640, 480, 15), (640, 360, 15)]);
        let tiny = Most {
            size: Dimensions::new(320, 240),
            fps: 10,
        };
        assert_eq!(all(tiny), [(320, 240, 10)]);
    }

    #[test]
    fn the_step_follows_from_what_the_machine_does_and_how_often() {
        let steps = steps(USUAL);
        let hd_s = 1280.0 * 720.0 * 30.0;
        assert_eq!(affordable(&steps, 1, hd_s), 0);
        assert_eq!(affordable(&steps, 2, hd_s * 2.0), 0);
        assert_eq!(affordable(&steps, 2, hd_s * 1.9), 1);
        assert_eq!(affordable(&steps, 8, hd_s * 1.9), 3);
        assert_eq!(affordable(&steps, 99, 1.0), 3);
        assert_eq!(affordable(&steps, 0, hd_s), 0);
    }

    #[test]
    fn what_is_asked_for_by_default_fits_a_tv() {
        // ITU-T H.264 Table A-1: 1920×1080 has 8,160 macroblocks, 30 times a
        // second are 244,800; twice as many are level 4.2.
        let at = |size, fps| fits_level_4_1(Most { size, fps });
        assert!(fits_level_4_1(USUAL) && at(FULL_HD, 30));
        assert!(!at(FULL_HD, 31) && at(Dimensions::HD, 60));
        assert!(!at(Dimensions::new(2048, 1536), 1));
    }

    #[test]
    fn bit_rates_grow_with_size_and_rate_more_slowly_than_they_do() {
        assert_eq!(bitrate_kbps(Dimensions::HD, 30.0), 4000);
        assert_eq!(bitrate_kbps(FULL_HD, 30.0), 7100);
        assert_eq!(bitrate_kbps(Dimensions::new(640, 360), 30.0), 1500);
        assert_eq!(bitrate_kbps(Dimensions::new(640, 360), 15.0), 900);
        assert_eq!(bitrate_kbps(Dimensions::new(64, 64), 1.0), 300);
    }
}
