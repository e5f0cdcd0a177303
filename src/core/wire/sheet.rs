//! What stands beside a station's late picture, and how it is to look: one
//! sheet for each screen, and the small setting that decides which.
//!
//! Nothing on a sheet is about one child. Not here: whose words they are, and
//! where on the page they stand.

use serde::{Deserialize, Serialize};

use super::{Applies, InBoth, StationCues};
use crate::kernel::CaptureUs;

/// A language that pages speak.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Language {
    /// English.
    En,
    /// Spanish.
    Es,
}

/// How a sheet is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// To those who do not read yet: figures, no sentence.
    Picture,
    /// In few words.
    Text,
}

/// Chalk on slate for a dark hall, ink on paper for a bright one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum Look {
    /// Light letters on a dark ground.
    #[default]
    Dark,
    /// Dark letters on a light ground.
    Bright,
}

/// Heights of a capital, as shares of the page's height.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LetterSizes {
    /// No letter on the page is smaller.
    pub least: f64,
    /// What reads with ease; at least the smallest.
    pub preferred: f64,
}

/// A station's mark: the three always together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SheetMark {
    /// What a child reads.
    pub number: u8,
    /// `disc`, `square`, `triangle`, `diamond`, `star`, `ring`, `cross` or
    /// `hexagon`.
    pub shape: String,
    /// By its name in the set of Okabe and Ito: `sky-blue`.
    pub colour: String,
    /// The shape as an SVG path in a box of 100.
    pub outline: String,
}

/// Words and the figure that does them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Shown {
    /// In the sheet's language.
    pub text: String,
    /// The figure's id, where there is one.
    pub figure: Option<String>,
    /// The teacher's own picture instead, by the name of its file.
    pub picture: Option<String>,
}

/// What there is to do and to look for at a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Task {
    /// In few words.
    pub task: String,
    /// The one thing to look for; none on a board.
    pub cue: Option<Shown>,
    /// A picture board: the choices themselves are what there is to see.
    pub board: bool,
    /// What may be chosen from, in no order of merit.
    pub levels: Vec<Shown>,
    /// Safety and courtesy.
    pub reminders: Vec<String>,
    /// What is put right before the group leaves.
    pub reset: String,
    /// The same task another way: a choice like any other.
    pub other_ways: Vec<Shown>,
}

/// The turn that runs; how much of it is left, the page reckons by the server's
/// clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Turn {
    /// When it began.
    #[cfg_attr(test, ts(type = "number"))]
    pub began_us: CaptureUs,
    /// When it is over.
    #[cfg_attr(test, ts(type = "number"))]
    pub ends_us: CaptureUs,
}

/// What a screen shows beside the late picture; sent when the socket opens and
/// at every change. A screen that has heard none shows picture and mark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Sheet {
    /// Always [`Applies::Live`]: it is for whoever looks up now.
    pub applies: Applies,
    /// The station's mark.
    pub mark: SheetMark,
    /// The language of its words, and of the page.
    pub language: Language,
    /// How it is told.
    pub view: View,
    /// How it looks.
    pub look: Look,
    /// How large its letters are.
    pub letters: LetterSizes,
    /// Nothing without a unit, or where the unit has no such station.
    pub task: Option<Task>,
    /// Nothing while no turn runs.
    pub turn: Option<Turn>,
    /// Every station's mark: where a group is sent to.
    pub stations: Vec<SheetMark>,
    /// The marks of groups, by number: whom it is said to.
    pub groups: Vec<SheetMark>,
}

/// Which view a class gets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum ViewChoice {
    /// What most children of that grade can read.
    #[default]
    ByGrade,
    /// The picture view, whatever the grade.
    Picture,
    /// The text view, whatever the grade.
    Text,
}

/// The language of one station's screens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct StationLanguage {
    /// The number on its sign.
    pub station: u8,
    /// `null`: each screen keeps the one it was opened in.
    pub language: Option<Language>,
}

/// `GET /api/showing`: for whom the screens are.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Showing {
    /// The grade in the gym; 0 is kindergarten. Nothing: no class.
    pub grade: Option<u8>,
    /// Which view was chosen.
    pub choice: ViewChoice,
    /// Which that is for this grade.
    pub view: View,
    /// How it looks.
    pub look: Look,
    /// Stations whose screens were given a language.
    pub languages: Vec<StationLanguage>,
    /// Stations whose cue is too long to be read on their screen.
    pub too_long: Vec<u8>,
    /// The cues of each station that has any for this grade.
    pub cues: Vec<StationCues>,
    /// The name of the unit that is in use.
    pub unit: Option<String>,
    /// The units there are to choose from.
    pub units: Vec<UnitChoice>,
}

/// A unit that can be used.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct UnitChoice {
    /// Its file's name, without its ending.
    pub name: String,
    /// Its title.
    pub title: InBoth,
}

/// `PATCH /api/showing`: what to change; what is left out stays.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields, default)]
pub struct ShowingPatch {
    /// Another grade; `null`: no class.
    #[allow(
        clippy::option_option,
        reason = "no class and nothing said about it are different answers"
    )]
    #[cfg_attr(test, ts(type = "number | null"))]
    #[serde(deserialize_with = "said")]
    pub grade: Option<Option<u8>>,
    /// Another view.
    pub choice: Option<ViewChoice>,
    /// Another look.
    pub look: Option<Look>,
    /// Another language for one station.
    pub language: Option<StationLanguage>,
}

/// What is there was said, `null` too.
fn said<'de, D, T>(from: D) -> Result<Option<T>, D::Error>
where
    D: serde::Deserializer<'de>,
    T: Deserialize<'de>,
{
    T::deserialize(from).map(Some)
}
