//! Who is not shown in a class: what the list, the teacher and a helper say come
//! to.
//!
//! To show less than the list allows is open to whoever may start a class. To show
//! more, where the list cannot tell, is the teacher's alone, and is logged.
//!
//! Not here: what the list says (`list`), and covering (the class clock).

use std::collections::BTreeSet;

use afterturn_core::{
    consent::{Covered, Unknown},
    kernel::ClassId,
    rotation::{GroupNumber, Refused},
    wire::{ClassStart, NotKnown},
};

use super::book::{Known, Running};
use super::list::TeachersWord;
use super::{Inner, Lesson, List};

/// Who says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// May show what the list cannot tell.
    Teacher,
    /// May only show less.
    Helper,
}

/// Who is not shown, as a class starts.
pub(super) struct NotShown {
    pub(super) groups: BTreeSet<GroupNumber>,
    pub(super) word: Option<TeachersWord>,
    /// The word is good for the next lesson too: there is no child in the list.
    pub(super) remembered: bool,
}

impl Inner {
    /// The groups of a class in so many that are not to be shown; nothing where
    /// the teacher has to say first.
    pub(super) fn not_shown(
        &self,
        asked: &ClassStart,
        (list, class): (Option<&List>, Option<ClassId>),
        groups: u8,
        by: By,
    ) -> Option<NotShown> {
        let said = asked.not_shown.as_ref();
        let said = said.map(|said| said.iter().copied().collect::<BTreeSet<_>>());
        let known = self.book.known(asked.class.trim());
        let before = known.filter(|known| known.groups == groups);
        let Some(list) = list else {
            let before = || before.and_then(|known| known.not_shown.clone());
            return said.or_else(before).map(|groups| NotShown {
                groups,
                word: None,
                remembered: false,
            });
        };
        let less = said.clone().unwrap_or_default();
        let covered = list.covered(class, groups);
        let unknown = match covered {
            Covered::Known(_) => None,
            Covered::Unknown(why) => Some(why),
        };
        let before = before.filter(|_| unknown == Some(Unknown::Empty));
        let word = match (unknown, by, said) {
            (None, _, _) => None,
            (Some(why), By::Teacher, Some(said)) => {
                tracing::warn!(
                    ?why,
                    "the teacher says who is shown, where the list cannot tell"
                );
                Some(said)
            }
            (Some(_), By::Teacher, None) => Some(teachers_word(before)?),
            (Some(_), By::Helper, _) => teachers_word(before),
        };
        let word = word.map(|not_shown| list.word(not_shown));
        let groups = &list.not_shown(&covered, groups, word.as_ref()) | &less;
        Some(NotShown {
            groups,
            remembered: word.is_some() && unknown == Some(Unknown::Empty),
            word,
        })
    }
}

/// What the teacher said the last time.
fn teachers_word(known: Option<&Known>) -> Option<BTreeSet<GroupNumber>> {
    let known = known.filter(|known| known.teachers_word)?;
    known.not_shown.clone()
}

impl Lesson {
    /// The teacher says who is not shown in the class that runs; everybody else
    /// is, from now on, as far as the list knows nothing else.
    pub async fn show_all_but(&self, not_shown: BTreeSet<GroupNumber>) -> Result<(), Refused> {
        let done = self.with(|inner, now| {
            let class = inner.class.as_mut().ok_or(Refused::Over)?;
            let groups = class.groups();
            if let Some(group) = not_shown.iter().find(|group| group.get() > groups) {
                return Err(Refused::NoGroup(group.get()));
            }
            let mut wanted = not_shown.clone();
            if let Some(list) = &self.settings.list {
                let word = list.word(not_shown);
                // It is said of who stands where now.
                class.grouping = class.listed().and_then(|class| list.grouping(class));
                let covered = list.covered_in(class);
                wanted.extend(list.not_shown(&covered, groups, Some(&word)));
                class.word = Some(word);
            }
            class.clock.show_all_but(&wanted, now.capture);
            class.word_at = Some(now.capture);
            inner.unkept_class = true;
            tracing::warn!("the teacher says who is shown in this class");
            Ok(())
        });
        self.keep().await;
        done
    }

    /// Why the list cannot tell who may be shown in the class that runs, and
    /// nobody has said; every group is covered then.
    pub(super) fn not_known(&self, class: &Running) -> Option<NotKnown> {
        let list = self.settings.list.as_ref().filter(|_| !class.demo)?;
        let Covered::Unknown(why) = list.covered_in(class) else {
            return None;
        };
        let said = class.word.as_ref().is_some_and(|word| list.holds(word));
        (!said).then_some(match why {
            Unknown::Unreadable => NotKnown::Unreadable,
            Unknown::Class => NotKnown::Class,
            Unknown::Groups => NotKnown::Groups,
            Unknown::Empty => NotKnown::Empty,
        })
    }

    /// The list may have changed: a class that nobody could place in it is looked
    /// for again, and what families say holds at once.
    pub(super) async fn list_changed(&self) {
        let title = {
            let inner = self.lock();
            let class = inner.class.as_ref().filter(|class| !class.demo);
            class
                .filter(|class| class.listed.is_none())
                .map(|class| class.title.clone())
        };
        // First what is known: nobody waits for a look into the vault.
        self.with(|_, _| ());
        let (Some(list), Some(title)) = (&self.settings.list, title) else {
            return;
        };
        let now = self.now();
        let crate::portfolio::Listed::Class { id, .. } = list.listed(&title, None, now).await
        else {
            return;
        };
        self.with(|inner, _| {
            let Some(class) = inner.class.as_mut().filter(|class| class.title == title) else {
                return;
            };
            class.listed = Some(id.get());
            class.grouping = list.grouping_found(id, class.word.as_ref());
            inner.unkept_class = true;
            if let Some(known) = inner.book.known_mut(&title) {
                known.listed = Some(id.get());
                inner.unkept_book = true;
            }
        });
        // Its groups are the list's now.
        self.with(|_, _| ());
    }
}
