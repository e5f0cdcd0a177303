//! The class clock: who stands where, in which phase, until when.
//!
//! - [`Plan`]: what a class sets out to do: places in walking order, groups,
//!   [`Times`]. [`spread`] makes the groups, [`Circuit`] takes what is left of
//!   them to the next lesson.
//! - [`Clock`]: the running class. A state machine: the time and [`Press`]es
//!   come in, phases come out; it keeps its whole state in plain data, so that
//!   it can be written down at each change.
//! - [`Clicks`]: what a press on a clicker at a screen means, which is less.
//! - [`History`]: which group stood where, by capture time. Every later
//!   question about "who" is answered from it, and so is what must not be seen
//!   ([`Clock::hidden`]).
//! - [`Stood`]: whose pictures a stretch of capture time is made of.
//! - [`restart`]: how much time has passed since the state was written down, or
//!   that somebody has to be asked.
//! - [`Rig`], [`Days`]: what has to be set up anew for the next class, and which
//!   class that is likely to be.
//! - [`Tuning`]: what a class has otherwise than planned, and takes along.
//!
//! Not here: clocks, the disk, cameras, pictures; names of children are known
//! nowhere in it, only the numbers of groups.

mod apply;
mod clicker;
mod clock;
mod day;
mod groups;
mod hidden;
mod history;
mod look;
mod plan;
mod press;
mod restart;
mod rig;
mod stood;
mod tuning;

pub use clicker::{Click, ClickedAt, Clicks};
pub use clock::{Accident, Clock, Runs};
pub use day::Days;
pub use groups::{GroupNumber, MOST_CHILDREN, MOST_GROUPS, needs_three, spread};
pub use hidden::Span;
pub use history::{History, Stage, Stand, Stretch};
pub use look::Face;
pub use plan::{Circuit, Crowd, Hands, Place, Plan, PlanError, StationPlan, Times};
pub use press::{Hold, Outcome, Phase, Press, Refused};
pub use restart::{Passed, Readings, Why, restart};
pub use rig::{Change, Rig, changes, on_the_floor, starts_closed};
pub use stood::{Crossing, Stood};
pub use tuning::{Tune, Tuned, TunedKind, Tuning};

#[cfg(test)]
mod tests;
