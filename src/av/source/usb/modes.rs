//! Of all that a USB camera offers, what is asked of it.
//!
//! A camera lists forms (H.264, Motion JPEG, several raw ones), and for each of
//! them sizes and rates, one by one, as lists or as ranges. Chosen is what comes
//! near to the wish; among what comes about as near, the form that takes least
//! of the cable, since cameras share it, and of this machine.
//!
//! Not here: any media library. These are numbers and words.

use crate::av::encode::{Dimensions, Most, Rate};

/// How a camera packs its pictures, in order of preference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Form {
    /// Passed on as it is.
    H264,
    /// One JPEG a picture.
    Jpeg,
    /// Not packed, as `GStreamer` calls it: `YUY2`.
    Raw(&'static str),
}

/// The raw forms that are taken, those with fewer bits for a pixel first. Grey
/// ones are those of cameras for the dark, and of no use where there is another.
pub const RAW_FORMS: [&str; 13] = [
    "NV12", "I420", "YV12", "NV21", "YUY2", "UYVY", "YVYU", "Y42B", "NV16", "BGR", "RGB", "BGRx",
    "GRAY8",
];

impl Form {
    /// Whether it is packed before it goes over the cable.
    #[must_use]
    pub const fn is_packed(self) -> bool {
        matches!(self, Self::H264 | Self::Jpeg)
    }

    fn is_grey(self) -> bool {
        self == Self::Raw("GRAY8")
    }

    /// Lower is better.
    fn rank(self) -> usize {
        match self {
            Self::H264 => 0,
            Self::Jpeg => 1,
            Self::Raw(name) => {
                let place = RAW_FORMS.iter().position(|form| *form == name);
                2 + place.unwrap_or(RAW_FORMS.len())
            }
        }
    }
}

/// Widths or heights.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// The least.
    pub least_px: u32,
    /// The most; the same for a single one.
    pub most_px: u32,
    /// From one to the next. Never 0.
    pub step_px: u32,
}

impl Span {
    /// A single one.
    #[must_use]
    pub const fn one(px: u32) -> Self {
        Self {
            least_px: px,
            most_px: px,
            step_px: 1,
        }
    }

    /// The nearest to `px` that is not beyond it, if there is one; else the least.
    fn near(self, px: u32) -> u32 {
        let within = px.clamp(self.least_px, self.most_px.max(self.least_px));
        let step = self.step_px.max(1);
        self.least_px + (within - self.least_px) / step * step
    }
}

/// Rates.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rates {
    /// The camera does not say.
    Unsaid,
    /// One of these.
    Some(Vec<Rate>),
    /// Any between these.
    Between(Rate, Rate),
}

impl Rates {
    /// The fastest, if the camera says.
    #[must_use]
    pub fn fastest(&self) -> Option<Rate> {
        match self {
            Self::Unsaid => None,
            Self::Some(rates) => rates
                .iter()
                .copied()
                .max_by(|a, b| a.per_s().total_cmp(&b.per_s())),
            Self::Between(_, most) => Some(*most),
        }
    }

    /// The slowest that is not slower than `fps`, or the fastest there is.
    fn near(&self, fps: u32) -> Option<Rate> {
        // 30000/1001 is 30 to everybody.
        let enough = |rate: &Rate| rate.per_s() >= f64::from(fps) * 0.98;
        let by_speed = |a: &Rate, b: &Rate| a.per_s().total_cmp(&b.per_s());
        match self {
            Self::Unsaid => None,
            Self::Some(rates) => {
                let enough = rates.iter().copied().filter(enough).min_by(by_speed);
                enough.or_else(|| rates.iter().copied().max_by(by_speed))
            }
            Self::Between(least, most) => {
                let wanted = Rate::new(fps, 1)?;
                if wanted.per_s() < least.per_s() {
                    Some(*least)
                } else if wanted.per_s() > most.per_s() {
                    Some(*most)
                } else {
                    Some(wanted)
                }
            }
        }
    }
}

/// One line of what a camera lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// The form.
    pub form: Form,
    /// Its widths.
    pub width: Span,
    /// Its heights.
    pub height: Span,
    /// Its rates in that size.
    pub rates: Rates,
}

/// What is asked of a camera.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mode {
    /// The form.
    pub form: Form,
    /// The size.
    pub size: Dimensions,
    /// The rate, unless the camera has none to choose from.
    pub rate: Option<Rate>,
}

impl Mode {
    /// The share of what is wanted that can be seen of it: pixels within the
    /// wanted box, times pictures up to the wanted rate.
    fn covers(&self, wanted: Most) -> f64 {
        let shrunk = shrunk(self.size, wanted.size);
        let pixels = (shrunk.0 * shrunk.1) / pixels(wanted.size);
        let rate = self
            .rate
            .map_or(1.0, |rate| rate.per_s() / f64::from(wanted.fps));
        // In the square root, so that half the rate weighs as half the width.
        pixels.sqrt() * rate.min(1.0)
    }

    /// What the camera sends and we decode, in pixels a second.
    fn takes(&self, wanted: Most) -> f64 {
        let rate = self.rate.map_or(f64::from(wanted.fps), Rate::per_s);
        pixels(self.size) * rate
    }
}

fn pixels(size: Dimensions) -> f64 {
    f64::from(size.width_px) * f64::from(size.height_px)
}

/// The size, shrunk into a box where it is larger.
fn shrunk(size: Dimensions, most: Dimensions) -> (f64, f64) {
    let (width, height) = (f64::from(size.width_px), f64::from(size.height_px));
    let scale = (f64::from(most.width_px) / width)
        .min(f64::from(most.height_px) / height)
        .min(1.0);
    (width * scale, height * scale)
}

/// What comes within this share of the best counts as good, and the form decides.
const GOOD: f64 = 0.8;

/// What to ask of a camera that offers this; `None` where there is nothing that
/// can be used. The forms in `refused` have been tried.
#[must_use]
pub fn choose(offers: &[Offer], wanted: Most, refused: &[Form]) -> Option<Mode> {
    let modes = || {
        offers
            .iter()
            .filter(|offer| !refused.contains(&offer.form))
            .filter_map(|offer| nearest(offer, wanted))
    };
    let colour = modes().any(|mode| !mode.form.is_grey());
    let modes = || modes().filter(|mode| !(colour && mode.form.is_grey()));
    let best = modes()
        .map(|mode| mode.covers(wanted))
        .max_by(f64::total_cmp)?;
    modes()
        .filter(|mode| mode.covers(wanted) >= best * GOOD)
        .min_by(|a, b| {
            let by_cover = || b.covers(wanted).total_cmp(&a.covers(wanted));
            let by_load = || a.takes(wanted).total_cmp(&b.takes(wanted));
            (a.form.is_packed().cmp(&b.form.is_packed()).reverse())
                .then_with(|| packed_rank(a.form).cmp(&packed_rank(b.form)))
                .then_with(by_cover)
                .then_with(by_load)
                .then_with(|| a.form.rank().cmp(&b.form.rank()))
        })
}

/// Packed forms are chosen by what they are, raw ones first by what they show.
fn packed_rank(form: Form) -> usize {
    form.rank().min(2)
}

/// The nearest an offer comes to what is wanted.
fn nearest(offer: &Offer, wanted: Most) -> Option<Mode> {
    let size = Dimensions::new(
        offer.width.near(wanted.size.width_px),
        offer.height.near(wanted.size.height_px),
    );
    // What is passed on cannot be made smaller.
    let too_large = size.width_px > wanted.size.width_px || size.height_px > wanted.size.height_px;
    if size.width_px == 0 || size.height_px == 0 || (offer.form == Form::H264 && too_large) {
        return None;
    }
    Some(Mode {
        form: offer.form,
        size,
        rate: offer.rates.near(wanted.fps),
    })
}

#[cfg(test)]
#[path = "modes_tests.rs"]
mod tests;
