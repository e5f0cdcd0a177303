//! Which of the units the gym uses: the one that was chosen, else the first by
//! name, and then it stays.
//!
//! - While its file holds mistakes, its last good version stays.
//! - One that is remembered from the run before and holds mistakes shows nothing
//!   until it is mended: the words of another unit would be wrong words.
//! - When its file is gone, the first that holds no mistake takes its place.
//!
//! Not here: who may choose, and when (the lesson); writing it down.

use std::sync::{Arc, MutexGuard, PoisonError};

use afterturn_core::wire::UnitChoice;

use super::{Sheets, in_both};
use crate::units::{Copy, Shelf};

/// See the module.
#[derive(Debug, Default)]
pub(super) struct InUse {
    /// What is shown: the last version without a mistake.
    shown: Option<Arc<Copy>>,
    /// The name of its file.
    name: Option<String>,
    /// What there is to choose from.
    choices: Vec<UnitChoice>,
}

impl Sheets {
    /// The unit that was in use when the program ended.
    pub fn remember_unit(&self, name: Option<String>) {
        self.in_use().name = name;
    }

    /// Looks at the unit files as they are now.
    pub fn follow(&self, units: &Shelf) {
        let all = units.all();
        let usable = all.iter().filter_map(|copy| {
            Some(UnitChoice {
                name: copy.name.clone(),
                title: in_both(&copy.unit.as_ref()?.title),
            })
        });
        let mut in_use = self.in_use();
        let choices = usable.collect();
        let mut news = std::mem::replace(&mut in_use.choices, choices) != in_use.choices;
        let own = all
            .iter()
            .find(|copy| Some(&copy.name) == in_use.name.as_ref());
        let first = || all.iter().find(|copy| copy.unit.is_some());
        let next = own.or_else(first).filter(|copy| copy.unit.is_some());
        if let Some(next) = next {
            news |= in_use.show(Arc::clone(next));
        }
        drop(in_use);
        if news {
            self.tell();
        }
    }

    /// Uses another unit.
    pub fn use_unit(&self, copy: Arc<Copy>) {
        if self.in_use().show(copy) {
            self.tell();
        }
    }

    /// The name of the unit file that is in use.
    #[must_use]
    pub fn name(&self) -> Option<String> {
        self.in_use().name.clone()
    }

    /// The unit file that is shown.
    #[must_use]
    pub fn unit(&self) -> Option<Arc<Copy>> {
        self.in_use().shown.clone()
    }

    /// The units there are to choose from.
    #[must_use]
    pub(super) fn choices(&self) -> Vec<UnitChoice> {
        self.in_use().choices.clone()
    }

    fn in_use(&self) -> MutexGuard<'_, InUse> {
        // What is in use is whole at every moment.
        self.in_use.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl InUse {
    /// Whether that is another than before.
    fn show(&mut self, next: Arc<Copy>) -> bool {
        let version = |copy: &Arc<Copy>| (copy.name.clone(), copy.version.clone());
        let same = self.shown.as_ref().map(version) == Some(version(&next));
        self.name = Some(next.name.clone());
        self.shown = Some(next);
        !same
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use afterturn_core::plan::Language;

    use super::*;

    const BROKEN: &str = "id = 3";

    /// Two units, `autumn` and `spring`.
    fn two() -> (tempfile::TempDir, Shelf) {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let shelf = Shelf::new(folder.path().to_owned());
        for name in ["autumn", "spring"] {
            shelf.begin(name, None, Language::En).expect("made");
        }
        (folder, shelf)
    }

    fn sheets(remembered: Option<&str>) -> Sheets {
        let sheets = Sheets::new(BTreeMap::new());
        sheets.remember_unit(remembered.map(str::to_owned));
        sheets
    }

    fn shown(sheets: &Sheets) -> Option<String> {
        sheets.unit().map(|copy| copy.name.clone())
    }

    #[test]
    fn what_was_in_use_is_in_use_again_and_else_the_first_by_name() {
        let (_folder, shelf) = two();
        for (remembered, wanted) in [
            (None, "autumn"),
            (Some("spring"), "spring"),
            (Some("gone"), "autumn"),
        ] {
            let sheets = sheets(remembered);
            sheets.follow(&shelf);
            assert_eq!(shown(&sheets).as_deref(), Some(wanted), "{remembered:?}");
            assert_eq!(sheets.name().as_deref(), Some(wanted));
        }
    }

    #[test]
    fn one_that_was_in_use_and_holds_mistakes_shows_nothing_until_it_is_mended() {
        let (folder, shelf) = two();
        let file = folder.path().join("spring.toml");
        let good = std::fs::read(&file).expect("it is there");
        std::fs::write(&file, BROKEN).expect("written");
        let sheets = sheets(Some("spring"));
        sheets.follow(&shelf);
        assert_eq!(shown(&sheets), None, "no other unit's words");
        let names: Vec<_> = sheets.choices().into_iter().map(|one| one.name).collect();
        assert_eq!(names, ["autumn"], "one with mistakes cannot be chosen");
        std::fs::write(&file, good).expect("written");
        sheets.follow(&shelf);
        assert_eq!(shown(&sheets).as_deref(), Some("spring"));
        assert_eq!(sheets.choices().len(), 2);
    }

    #[test]
    fn another_is_used_when_it_is_chosen_and_stays() {
        let (_folder, shelf) = two();
        let sheets = sheets(None);
        sheets.follow(&shelf);
        let mut changes = sheets.changes();
        changes.mark_unchanged();
        sheets.use_unit(shelf.one("spring").expect("it is there"));
        assert!(changes.has_changed().expect("it is there"));
        sheets.follow(&shelf);
        assert_eq!(shown(&sheets).as_deref(), Some("spring"));
    }
}
