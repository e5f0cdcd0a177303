//! The bad habits a camera can be asked to have, by name.
//!
//! Not here: having them (see `launch`, `feed` and `wire`).

use std::str::FromStr;

/// What `--help` says about them.
pub(crate) const HELP: &str = "\
Quirks (times count from the moment the first watcher arrives):
  b-frames            pictures are not sent in the order they are shown
  gop-4s              a keyframe only every four seconds
  h265                sends H.265 instead of H.264
  mjpeg               sends Motion JPEG instead of H.264
  interlaced          codes its pictures as fields
  4-2-2               codes colours in a profile that browsers do not play
  digest-auth         asks for the password by Digest instead of Basic
  stall-after=S       after S seconds no more pictures, but the session stays
  back-step=MS@S      after S seconds the stamps step back by MS
  forward-step=MS@S   after S seconds the stamps step ahead by MS, as those of a
                      clock that is set right do; an hour is 3600000
  drop=FROM-TO        what is encoded from second FROM to second TO is lost
  size-change@S       after S seconds pictures are half as wide and high; a
                      second one makes them whole again
  jitter-ms=N         each picture is sent up to N ms late, in order; stamps stay right
  no-restriction      promises nothing about the order of its pictures: its
                      sequence parameter set has no VUI

back-step, forward-step, drop and size-change may be given several times, and
say `quirk NAME begins MS` when they set in and, where they end, `quirk NAME over
MS`, in Unix milliseconds: the moment of the first picture that is good again.";

/// One habit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Quirk {
    /// Pictures out of order.
    BFrames,
    /// Rare keyframes.
    Gop4s,
    /// The wrong codec.
    H265,
    /// No codec worth the name.
    Mjpeg,
    /// Fields.
    Interlaced,
    /// Too many colours.
    FourTwoTwo,
    /// The other way to ask for a password.
    DigestAuth,
    /// Silence after so many seconds.
    StallAfter {
        /// When.
        at_s: f64,
    },
    /// Stamps that step.
    Step {
        /// How far ahead; back where negative.
        by_ms: i64,
        /// When.
        at_s: f64,
    },
    /// A hole.
    Drop {
        /// Its first second.
        from_s: f64,
        /// Its last.
        to_s: f64,
    },
    /// Another size.
    SizeChange {
        /// When.
        at_s: f64,
    },
    /// Uneven sending.
    JitterMs {
        /// The most a picture is held.
        most_ms: u64,
    },
    /// No promise about order.
    NoRestriction,
}

/// A quirk nobody has heard of.
#[derive(Debug, thiserror::Error)]
#[error("no quirk is called {0:?}; see --help for the names and how their numbers are written")]
pub(crate) struct QuirkError(String);

fn seconds(text: &str) -> Option<f64> {
    text.parse().ok().filter(|s: &f64| (0.0..=1e6).contains(s))
}

fn parse(text: &str) -> Option<Quirk> {
    Some(match text {
        "b-frames" => Quirk::BFrames,
        "gop-4s" => Quirk::Gop4s,
        "h265" => Quirk::H265,
        "mjpeg" => Quirk::Mjpeg,
        "interlaced" => Quirk::Interlaced,
        "4-2-2" => Quirk::FourTwoTwo,
        "digest-auth" => Quirk::DigestAuth,
        "no-restriction" => Quirk::NoRestriction,
        _ => {
            let cut = text.find(['=', '@'])?;
            let (name, value) = (&text[..=cut], &text[cut + 1..]);
            match name {
                "stall-after=" => Quirk::StallAfter {
                    at_s: seconds(value)?,
                },
                "size-change@" => Quirk::SizeChange {
                    at_s: seconds(value)?,
                },
                "jitter-ms=" => Quirk::JitterMs {
                    most_ms: value.parse().ok().filter(|ms| *ms <= 10_000)?,
                },
                "back-step=" | "forward-step=" => {
                    let (by, at) = value.split_once('@')?;
                    let by_ms = by.parse::<u32>().ok().filter(|ms| *ms <= 3_600_000)?;
                    let ahead = if name == "back-step=" { -1 } else { 1 };
                    Quirk::Step {
                        by_ms: ahead * i64::from(by_ms),
                        at_s: seconds(at)?,
                    }
                }
                "drop=" => {
                    let (from, to) = value.split_once('-')?;
                    let (from_s, to_s) = (seconds(from)?, seconds(to)?);
                    (from_s < to_s).then_some(Quirk::Drop { from_s, to_s })?
                }
                _ => return None,
            }
        }
    })
}

impl FromStr for Quirk {
    type Err = QuirkError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        parse(text).ok_or_else(|| QuirkError(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_numbers_are_read() {
        let quirk = |text: &str| text.parse::<Quirk>().ok();
        assert_eq!(quirk("b-frames"), Some(Quirk::BFrames));
        assert_eq!(
            quirk("stall-after=2.5"),
            Some(Quirk::StallAfter { at_s: 2.5 })
        );
        assert_eq!(
            quirk("back-step=50@4"),
            Some(Quirk::Step {
                by_ms: -50,
                at_s: 4.0
            })
        );
        assert_eq!(
            quirk("forward-step=3600000@4"),
            Some(Quirk::Step {
                by_ms: 3_600_000,
                at_s: 4.0
            })
        );
        assert_eq!(
            quirk("drop=1-1.2"),
            Some(Quirk::Drop {
                from_s: 1.0,
                to_s: 1.2
            })
        );
        assert_eq!(
            quirk("size-change@3"),
            Some(Quirk::SizeChange { at_s: 3.0 })
        );
        assert_eq!(quirk("jitter-ms=80"), Some(Quirk::JitterMs { most_ms: 80 }));
        for wrong in [
            "",
            "bframes",
            "drop=3-2",
            "drop=-1-2",
            "stall-after=x",
            "size-change=3",
            "back-step=5",
            "back-step=-5@1",
            "jitter-ms=-1",
            "gop-4s=2",
        ] {
            assert_eq!(quirk(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn help_names_every_quirk() {
        for name in [
            "b-frames",
            "gop-4s",
            "h265",
            "mjpeg",
            "interlaced",
            "4-2-2",
            "digest-auth",
            "stall-after=",
            "back-step=",
            "forward-step=",
            "drop=",
            "size-change@",
            "jitter-ms=",
            "no-restriction",
        ] {
            assert!(HELP.contains(&format!("\n  {name}")), "{name}");
        }
    }
}
