//! What a class that starts wants to know of the list: without a name, without
//! waiting for anybody to sign in, and without keeping the vault open longer.
//!
//! Not here: what the class makes of it.

use afterturn_core::kernel::{CaptureUs, ClassId, Name};

use super::{Class, Portfolio};

/// Whether a class is in the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Listed {
    /// It is not.
    No,
    /// Nobody can tell: the titles are sealed, or two are alike.
    Unknown,
    /// It is.
    Class {
        /// Which.
        id: ClassId,
        /// How many groups it has there, if any.
        groups: Option<u8>,
    },
}

impl Portfolio {
    /// Whether a class of this title is in the list. `known` is the class that
    /// it was the last time, which is believed while the titles are sealed.
    #[must_use]
    pub fn listed(&self, title: &str, known: Option<ClassId>, now: CaptureUs) -> Listed {
        let Some(answers) = self.answers() else {
            return Listed::Unknown;
        };
        let veils = &answers.veils;
        let is_there = |id: &ClassId| veils.iter().any(|veil| veil.class == *id);
        let known = known.filter(is_there);
        let found = match (self.called(title, now), known) {
            (Some(found), _) if found.len() > 1 => return Listed::Unknown,
            (Some(found), known) => found.first().copied().or(known),
            (None, Some(known)) => Some(known),
            // A list without a child covers nobody.
            (None, None) if veils.is_empty() => None,
            (None, None) => return Listed::Unknown,
        };
        let Some(id) = found.filter(is_there) else {
            return Listed::No;
        };
        let groups = veils.iter().filter(|veil| veil.class == id);
        let groups = groups.map(|veil| veil.group).max().filter(|most| *most > 0);
        Listed::Class { id, groups }
    }

    /// What the classes are called, and how many children each has; nothing while
    /// that is sealed, or while somebody changes it.
    #[must_use]
    pub fn titles(&self, now: CaptureUs) -> Vec<(Name, usize)> {
        let Ok(mut inner) = self.inner.try_lock() else {
            return Vec::new();
        };
        inner.lock_if_idle(now);
        let (Some(database), Some(open)) = (&inner.database, &inner.open) else {
            return Vec::new();
        };
        let rows = database.read().classes().unwrap_or_default();
        let all = database.read().children().unwrap_or_default();
        let classes = rows
            .iter()
            .filter_map(|row| Class::open(row, &open.key).ok());
        let children = |id| all.iter().filter(|child| child.class == id).count();
        let mut titles: Vec<_> = classes
            .map(|class| (class.title, children(class.id)))
            .collect();
        titles.sort();
        titles
    }

    /// Every class of this title, whatever its capitals; none while the titles
    /// are sealed.
    fn called(&self, title: &str, now: CaptureUs) -> Option<Vec<ClassId>> {
        let mut inner = self.lock_inner();
        inner.lock_if_idle(now);
        let (database, open) = (inner.database.as_ref()?, inner.open.as_ref()?);
        let Ok(title) = Name::new(title) else {
            return Some(Vec::new());
        };
        let mut found = Vec::new();
        for row in database.read().classes().ok()? {
            let class = Class::open(&row, &open.key).ok()?;
            if class.title.folded() == title.folded() {
                found.push(class.id);
            }
        }
        Some(found)
    }
}
