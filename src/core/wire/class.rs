//! What is said of the running class: to a screen over its socket, to a remote
//! as JSON, and what a remote may ask.
//!
//! Not here: names of children. A group is a number.

use serde::{Deserialize, Serialize};

use super::{AfterRestart, Applies, NotKnown, Refinement};
use crate::{
    kernel::CaptureUs,
    rotation::{Accident, Crowd, GroupNumber, Hands, Hold, Phase, Press, Times},
};

/// Where the class stands in time. All of it is live.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ClassTime {
    /// The phase.
    pub phase: Phase,
    /// The turn, counted from 1; in a walk, the one that is over.
    pub turn: u16,
    /// How many turns the circuit has.
    pub turns: u16,
    /// When the phase ends, on the server's clock; nothing while the class
    /// waits. A page counts down to it by itself.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub ends_us: Option<CaptureUs>,
    /// How much of the phase was left as this was written.
    pub left_ms: u32,
    /// How long the phase is when nobody presses anything.
    pub whole_ms: u32,
    /// Why the class waits: of several reasons the gravest.
    pub hold: Option<Hold>,
}

/// A group at a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct GroupHere {
    /// Its number; its mark has that number's colour and shape.
    pub group: GroupNumber,
    /// It works here; if not it rests beside.
    pub works: bool,
    /// Its children cannot be split into pairs at this station in pairs: three
    /// work together.
    pub three: bool,
    /// The station it goes to next; nothing where it goes to rest, or where
    /// this is the last turn.
    pub next: Option<u8>,
}

/// The capture times of one stay: the groups of a turn at their stations, from
/// the moment they were to work to the moment they were to gather.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Stay {
    /// Its first moment.
    #[cfg_attr(test, ts(type = "number"))]
    pub from_us: CaptureUs,
    /// The first one after; nothing while they work.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub to_us: Option<CaptureUs>,
}

/// The class as one station's screen needs it; at every change and at least
/// every half second. All of it is live.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ScreenClass {
    /// Always [`Applies::Live`].
    pub applies: Applies,
    /// Nothing while no class runs.
    pub time: Option<ClassTime>,
    /// Nobody works at this station in this class, or not any more.
    pub closed: bool,
    /// Nobody spots today: it is done on the floor.
    pub floor: bool,
    /// Who has its place here at this turn, or will at the first.
    pub groups: Vec<GroupHere>,
    /// The groups that come here next.
    pub coming: Vec<GroupNumber>,
    /// Pictures that may be seen now are of this stay, so that nobody is shown
    /// another group's attempts; nothing before the first turn.
    pub stay: Option<Stay>,
    /// What to look for today, at every station.
    pub refine: Option<Refinement>,
}

/// `GET /api/class`, and the answer to every press.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ClassInfo {
    /// The capture clock as this was written.
    #[cfg_attr(test, ts(type = "number"))]
    pub now_us: CaptureUs,
    /// The class that runs.
    pub class: Option<RunningClass>,
    /// A class was interrupted and it is not known for how long: answer with
    /// [`ClassAnswer`](super::ClassAnswer).
    pub asks: Option<AfterRestart>,
    /// It is the demo: it runs without a class too, and starts over by itself.
    pub demo: bool,
}

/// A class that runs.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct RunningClass {
    /// What it is called.
    pub title: String,
    /// Goes up with each phase: a press says which it saw.
    #[cfg_attr(test, ts(type = "number"))]
    pub step: u64,
    /// Phase, turn, time left.
    pub time: ClassTime,
    /// Every reason to wait; all have to be resumed.
    pub holds: Vec<Hold>,
    /// The groups, by number.
    pub groups: Vec<GroupInfo>,
    /// The stations, in walking order.
    pub stations: Vec<ClassStation>,
    /// What is noted of accidents.
    pub accidents: Vec<Accident>,
    /// It is the demo's own, and gives way to any other.
    pub demo: bool,
    /// No station has a picture of itself, and there is no sound.
    pub quiet: bool,
    /// What to look for today, at every station.
    pub refine: Option<Refinement>,
    /// Why every group is covered: nobody can tell who may be shown.
    pub not_known: Option<NotKnown>,
    /// The teacher has said who is not shown, where the list cannot tell.
    pub is_said: bool,
}

/// A group, as a remote needs it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct GroupInfo {
    /// Its number.
    pub group: GroupNumber,
    /// How many children are in it today.
    pub children: u16,
    /// The station whose place it has at this turn; nothing while it rests.
    pub station: Option<u8>,
    /// It works there; if not it rests beside.
    pub works: bool,
    /// The station it goes to next.
    pub next: Option<u8>,
    /// Pictures of it are not shown: covered, or never shown.
    pub covered: bool,
}

/// A station, as the class has it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own, by its name"
)]
pub struct ClassStation {
    /// The number on its sign.
    pub number: u8,
    /// How it is set up for this class.
    pub setup: String,
    /// Nobody works there.
    pub closed: bool,
    /// It can be opened again: it has a place in this circuit.
    pub in_circuit: bool,
    /// It is done on the floor today.
    pub floor: bool,
    /// It has no picture of itself, and its TV makes no sound.
    pub quiet: bool,
}

/// `POST /api/class/presses`: `{"id": "…", "press": {"press": "next"}, "seen": 4}`.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub struct ClassPress {
    /// Made up by the remote, another one for each press; the same one when a
    /// press is sent again because its answer was lost.
    pub id: String,
    /// What.
    pub press: Press,
    /// The step the remote showed, if it matters.
    #[serde(default)]
    #[cfg_attr(test, ts(type = "number", optional))]
    pub seen: Option<u64>,
}

/// The answer to a press.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct PressAnswer {
    /// It had been done before: the same press again, or another remote was
    /// first.
    pub already: bool,
    /// How the class stands now.
    pub now: ClassInfo,
}

/// `GET /api/class/start`: what start asks.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StartInfo {
    /// The classes that are known, the likeliest first.
    pub classes: Vec<KnownClass>,
    /// What accidents were noted, newest first.
    pub accidents: Vec<Accident>,
    /// What is taken where nothing is set.
    pub times: Times,
    /// The stations as each grade finds them; one without a grade too.
    pub grades: Vec<GradeStart>,
}

/// The stations as one grade finds them.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct GradeStart {
    /// Years after kindergarten; nothing for a class without a grade.
    pub grade: Option<u8>,
    /// In walking order; a station the grade does not have is not among them.
    pub stations: Vec<StartStation>,
}

/// A station as start finds it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StartStation {
    /// The number on its sign.
    pub number: u8,
    /// Children work two and two.
    pub in_pairs: bool,
    /// What becomes of it when nobody spots.
    pub hands: Hands,
    /// What has to be set up anew; nothing where it stands as it is wanted.
    pub change: Option<StationChange>,
}

/// What has to be set up anew at a station.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StationChange {
    /// What is taken away.
    pub gone: Vec<InBoth>,
    /// What is put there.
    pub come: Vec<InBoth>,
    /// It stands as a younger class had it, which is the easier of the two: it
    /// can be left so for both when time is short.
    pub easier_as_it_stands: bool,
}

/// The same in both languages.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct InBoth {
    /// In English.
    pub en: String,
    /// In Spanish.
    pub es: String,
}

/// A class that was here before.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct KnownClass {
    /// What it is called.
    pub title: String,
    /// Its grade, in years after kindergarten, as it was told last.
    pub grade: Option<u8>,
    /// How many came last time.
    pub children: u16,
    /// How many groups it had.
    pub groups: u8,
    /// The groups that are not to be shown; nothing where nobody has said.
    pub not_shown: Option<Vec<GroupNumber>>,
    /// Its circuit goes on with this turn, counted from 1.
    pub goes_on_with: Option<u16>,
    /// How many turns that circuit has.
    pub turns: Option<u16>,
    /// How long its parts took.
    pub times: Times,
}

/// `POST /api/class/start`.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each is a fact of its own, by its name"
)]
pub struct ClassStart {
    /// Made up by the remote, as for a press.
    pub id: String,
    /// Which class: what it is called.
    pub class: String,
    /// Its grade, in years after kindergarten: what stands at the stations and
    /// what the screens say follow from it.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub grade: Option<u8>,
    /// How many children are here.
    pub children: u16,
    /// How many groups; nothing: as many as stations are open, or as last time.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub groups: Option<u8>,
    /// The groups that are not to be shown, where nobody has said so yet, or
    /// that has changed.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub not_shown: Option<Vec<GroupNumber>>,
    /// Stations whose change was done; the others that need one start closed.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<Vec<u8>>"))]
    pub ticked: Vec<u8>,
    /// Stations that are left as they stand, where that is the easier of two
    /// set-ups.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<Vec<u8>>"))]
    pub as_it_stands: Vec<u8>,
    /// Stations that start closed for any other reason.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<Vec<u8>>"))]
    pub closed: Vec<u8>,
    /// Nobody spots today.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<bool>"))]
    pub no_spotter: bool,
    /// What more groups than stations do.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<Crowd>"))]
    pub crowd: Crowd,
    /// It is the first lesson with cameras: they are explained, which takes a
    /// minute.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<bool>"))]
    pub camera_briefing: bool,
    /// A new circuit although the last one is not finished.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<bool>"))]
    pub anew: bool,
    /// How long each part takes, if not as last time.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub times: Option<Times>,
    /// How long the lesson is: the work is made to fill it, where it can be.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub lesson_s: Option<u32>,
    /// No station has a picture of itself, and there is no sound.
    #[serde(default)]
    #[cfg_attr(test, ts(optional, as = "Option<bool>"))]
    pub quiet: bool,
    /// What to look for today, at every station.
    #[serde(default)]
    #[cfg_attr(test, ts(optional))]
    pub refine: Option<Refinement>,
}

/// What start has to know first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum StartAsk {
    /// Which groups are not to be shown; an empty list where all may be.
    NotShown,
}

/// The answer to a start.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StartAnswer {
    /// What has to be said first; empty once the class runs.
    pub asks: Vec<StartAsk>,
    /// How many groups there would be, for that.
    pub groups: u8,
    /// How the class stands now.
    pub now: ClassInfo,
}
