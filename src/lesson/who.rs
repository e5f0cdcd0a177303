//! Whose pictures a stretch of capture time is made of, as far as the class that
//! runs and the list can tell.
//!
//! Not here: the children's names, and what their families agreed to.

use afterturn_core::{
    kernel::{CaptureUs, ClassId, StationNumber},
    rotation::{Crossing, GroupNumber},
};

use super::Lesson;

/// Whose it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Whose {
    /// The class in the list.
    pub class: ClassId,
    /// The groups that worked there.
    pub groups: Vec<GroupNumber>,
    /// How many groups the class has now.
    pub of: u8,
}

/// Why nobody can tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Nobody {
    /// No class runs.
    #[error("no class runs")]
    NoClass,
    /// It is not in the list.
    #[error("this class is not in the list")]
    NotListed,
    /// The groups changed in the middle.
    #[error(transparent)]
    Crossing(#[from] Crossing),
}

impl Lesson {
    /// The groups that worked at a station all through a stretch. `newest` is
    /// the newest capture time there may be pictures of.
    pub fn whose(
        &self,
        station: StationNumber,
        from: CaptureUs,
        to: CaptureUs,
        newest: CaptureUs,
    ) -> Result<Whose, Nobody> {
        // As it stands now: a change that is due is in the history first.
        self.with(|inner, _| {
            let class = inner.class.as_ref().ok_or(Nobody::NoClass)?;
            let listed = class.listed.ok_or(Nobody::NotListed)?;
            let history = class.clock.history();
            let groups = history.stood_through(station, from, to, newest)?;
            Ok(Whose {
                class: ClassId::from_kept(listed),
                groups,
                of: class.clock.plan().sizes().len() as u8,
            })
        })
    }
}
