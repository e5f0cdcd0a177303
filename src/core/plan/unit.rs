//! A unit as it is written down.
//!
//! Not here: what of it a grade sees ([`super::resolve`]), and whether it makes
//! sense: whoever reads a unit from outside checks it there, where there is a
//! line to point at.

use std::fmt;
use std::str::FromStr;

use serde::{Serialize, Serializer};

use super::grade::Grades;
use super::mark::{Colour, Mark, Shape, named};
use super::text::{Language, Text};
use crate::kernel::StationNumber;

/// What a child takes in at a glance (common practice, no source).
pub const MOST_CUE_WORDS: usize = 7;
/// What is read once, by a class that sits (common practice, no source).
pub const MOST_REMINDER_WORDS: usize = 10;

/// What a unit, station, level, cue, other way or kit line is known by, in
/// every file and class, whatever its words become: small letters, digits and
/// dashes. The editor writes new ones and never the same again.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Id(String);

/// What is no id.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an id is 1 to 40 small letters, digits and dashes, beginning with a letter")]
pub struct IdError;

impl Id {
    /// As it is written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Id {
    type Err = IdError;

    fn from_str(text: &str) -> Result<Self, IdError> {
        let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        let begins = text.starts_with(|c: char| c.is_ascii_lowercase());
        if begins && text.len() <= 40 && text.chars().all(fits) {
            Ok(Self(text.to_owned()))
        } else {
            Err(IdError)
        }
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

named!(
    /// Kit and skills that many districts bar. Off until somebody has recorded
    /// that they are allowed.
    AskFirst {
        /// A mini-trampoline.
        MiniTrampoline = "mini-trampoline",
        /// A rope to swing on.
        SwingRope = "swing-rope",
        /// A climbing wall.
        ClimbingWall = "climbing-wall",
        /// Weight on the hands, hips above the head.
        Inversions = "inversions",
    }
);

/// That something to ask about first is allowed, where and by whom.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Permission {
    /// What.
    pub what: AskFirst,
    /// In which gym.
    pub place: String,
    /// Who allowed it: an office rather than a name.
    pub by: String,
    /// When, as a date.
    pub on: String,
}

/// A circuit of stations for some weeks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Unit {
    /// Its id.
    pub id: Id,
    /// Its title.
    pub title: Text,
    /// What every text in it is written in.
    pub languages: Vec<Language>,
    /// Whom it is for.
    pub grades: Grades,
    /// What is allowed.
    pub permissions: Vec<Permission>,
    /// The stations, in the order the groups walk.
    pub stations: Vec<Station>,
}

/// A station with what differs from grade to grade.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Station {
    /// Its id.
    pub id: Id,
    /// Who has it at all.
    pub grades: Grades,
    /// The whole station is to be asked about first.
    pub ask_first: Option<AskFirst>,
    /// What holds where no band says otherwise.
    pub details: Details,
    /// What differs. Where two say something of one grade, the later counts.
    pub bands: Vec<Band>,
    /// What a child can choose to do here, side by side.
    pub levels: Vec<Level>,
    /// The same task another way, an equal choice.
    pub other_ways: Vec<OtherWay>,
    /// What to look for; one is shown at a time.
    pub cues: Vec<Cue>,
}

/// A run of grades for which a station differs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Band {
    /// Which.
    pub grades: Grades,
    /// In what.
    pub changes: Changes,
}

macro_rules! details {
    ($($(#[$doc:meta])* $field:ident: $type:ty),* $(,)?) => {
        /// What a station is, for one grade.
        #[derive(Clone, Debug, PartialEq, Eq, Serialize)]
        pub struct Details {
            /// Number, shape and colour.
            pub mark: Mark,
            $($(#[$doc])* pub $field: $type,)*
            /// What stands there.
            pub kit: Vec<KitLine>,
        }

        /// What a band says otherwise; what it leaves out stays.
        #[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
        pub struct Changes {
            /// Another number on the sign.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub number: Option<StationNumber>,
            /// Another shape.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub shape: Option<Shape>,
            /// Another colour.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub colour: Option<Colour>,
            $($(#[$doc])* #[serde(skip_serializing_if = "Option::is_none")] pub $field: Option<$type>,)*
            /// A line with a known id instead of that line, others in addition;
            /// a count of 0 takes a line away.
            #[serde(skip_serializing_if = "Vec::is_empty")]
            pub kit: Vec<KitLine>,
        }

        impl Details {
            /// These, as a band has them.
            pub(super) fn apply(&mut self, changes: &Changes) {
                let mark = &mut self.mark;
                mark.number = changes.number.unwrap_or(mark.number);
                mark.shape = changes.shape.unwrap_or(mark.shape);
                mark.colour = changes.colour.unwrap_or(mark.colour);
                $(if let Some(value) = &changes.$field {
                    self.$field = value.clone();
                })*
                for line in &changes.kit {
                    match self.kit.iter_mut().find(|known| known.id == line.id) {
                        Some(known) => *known = line.clone(),
                        None => self.kit.push(line.clone()),
                    }
                }
            }
        }
    };
}

details! {
    /// What it is called.
    title: Text,
    /// What to do.
    task: Text,
    /// How many children can be under way at once.
    lanes: u8,
    /// Where a child stands to see their attempt.
    watch_from: Text,
    /// How long a balance is held; 0 where nothing is held.
    hold_s: u8,
    /// Capture to glass; 0 leaves it as the server has it.
    delay_ms: u32,
    /// Whatever travels here travels one way only.
    one_way: bool,
    /// What the last child puts right.
    reset: Text,
    /// Rules of safety and courtesy.
    reminders: Vec<Text>,
    /// What the adult has to know.
    cautions: Vec<Text>,
    /// A picture board: choices side by side, and no cue.
    board: bool,
    /// Children work two and two: nobody is left alone here.
    in_pairs: bool,
    /// An adult's hands are needed.
    adult_hands: bool,
    /// What is done where no adult is free; nothing where none is needed.
    no_spotter: Text,
}

/// How much of something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// So many pieces.
    Count(u16),
    /// So long, wide or high.
    LengthCm(u16),
}

/// One thing that has to be there, or one distance that has to be kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct KitLine {
    /// Its id within the station.
    pub id: Id,
    /// What it is.
    pub item: Text,
    /// How much of it.
    pub amount: Amount,
    /// It is to be asked about first.
    pub ask_first: Option<AskFirst>,
}

/// One of several things a child can choose to do. None is above another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Level {
    /// Its id.
    pub id: Id,
    /// What to do, in a few words.
    pub title: Text,
    /// Who has it; it may begin at a grade.
    pub grades: Grades,
    /// The level that has to be done first, here or at another station.
    pub after: Option<Id>,
    /// It is to be asked about first.
    pub ask_first: Option<AskFirst>,
    /// The id of its figure.
    pub figure: Option<String>,
    /// The teacher's own picture instead, by the name of its file.
    pub picture: Option<String>,
}

named!(
    /// In what another way differs.
    Way {
        /// On the floor line instead of the apparatus.
        OnTheLine = "on-the-line",
        /// With a hand, a wall or a bar to hold.
        WithSupport = "with-support",
        /// Seated, in a wheelchair or on a bench.
        Seated = "seated",
    }
);

/// The same task another way: a choice like any other.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OtherWay {
    /// Its id.
    pub id: Id,
    /// In what it differs.
    pub way: Way,
    /// What to do, in a few words.
    pub title: Text,
    /// Who has it.
    pub grades: Grades,
    /// The id of its figure.
    pub figure: Option<String>,
    /// The teacher's own picture instead, by the name of its file.
    pub picture: Option<String>,
}

/// One short thing to look for: what can be seen, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cue {
    /// Its id.
    pub id: Id,
    /// The words.
    pub text: Text,
    /// Who has it.
    pub grades: Grades,
    /// The level or other way it belongs to, if it is not for all.
    pub of: Option<Id>,
    /// The id of its figure.
    pub figure: Option<String>,
    /// The teacher's own picture instead, by the name of its file.
    pub picture: Option<String>,
}
