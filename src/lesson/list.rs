//! What the list of children says of a class that starts or runs: bare numbers
//! of groups that are not to be shown. One question, one answer: *known*, and then
//! which groups; or *unknown*, and then all.
//!
//! What it says is added to what somebody said, and never takes anything away. Of
//! a class that is in the list, nothing is believed that was remembered from the
//! last time: who is in which group, and what families say, may have changed
//! since. Where the list cannot tell, only the teacher's word shows anything, and
//! only for that day, and until somebody else may not be seen either or is in another
//! group.
//!
//! Not here: names; and covering (the class clock).

use std::{collections::BTreeSet, sync::Arc, time::Duration};

use afterturn_core::{
    consent::Covered,
    kernel::{CaptureUs, ClassId, Day},
    rotation::GroupNumber,
};
use serde::{Deserialize, Serialize};
use tokio::{sync::watch, task::spawn_blocking, time::timeout};

use super::book::{KeptGrouping, Running};
use crate::portfolio::{Listed, Portfolio};

/// Which day it is at the school.
pub type Today = Arc<dyn Fn() -> Day + Send + Sync>;

/// A vault that is busy with a long list does not keep a class waiting.
const ANSWERS_WITHIN: Duration = Duration::from_secs(2);

/// The list, and the day to reckon by.
#[derive(Clone)]
pub struct List {
    /// The vault it is in.
    pub portfolio: Arc<Portfolio>,
    /// Which day it is.
    pub today: Today,
}

/// A child by its bare id, and its group in the list.
type Unseen = (i64, Option<u8>);

/// What the teacher said of who is not shown, where the list cannot tell.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct TeachersWord {
    not_shown: BTreeSet<GroupNumber>,
    /// Who could not be seen as it was given; none where the list could not be
    /// read.
    unseen: Option<BTreeSet<Unseen>>,
    /// On which day, by the date on the clock.
    day: i32,
}

impl List {
    /// Whether a class is in it.
    pub(super) async fn listed(
        &self,
        title: &str,
        known: Option<ClassId>,
        now: CaptureUs,
    ) -> Listed {
        let (portfolio, title) = (Arc::clone(&self.portfolio), title.to_owned());
        let asking = spawn_blocking(move || portfolio.listed(&title, known, now));
        match timeout(ANSWERS_WITHIN, asking).await {
            Ok(Ok(listed)) => listed,
            Ok(Err(_)) | Err(_) => Listed::Unknown,
        }
    }

    /// Which groups are not to be shown today, of a class in so many. No class:
    /// which of the list's it is cannot be told.
    pub(super) fn covered(&self, class: Option<ClassId>, groups: u8) -> Covered {
        let today = (self.today)();
        self.portfolio.covered(class, groups, None, today)
    }

    /// The same for a class that runs.
    pub(super) fn covered_in(&self, class: &Running) -> Covered {
        let so_far = class.grouping.as_ref().map(KeptGrouping::read);
        let (listed, today) = (class.listed(), (self.today)());
        self.portfolio
            .covered(listed, class.groups(), so_far.as_ref(), today)
    }

    /// The groups of a class as the list has them now.
    pub(super) fn grouping(&self, class: ClassId) -> Option<KeptGrouping> {
        self.portfolio.grouping(class).map(KeptGrouping::write)
    }

    /// The same of a class that the list could place only now, and that had run for
    /// a while: where everybody stood meanwhile is not known, but of who may not be
    /// seen and is where the teacher has said.
    pub(super) fn grouping_found(
        &self,
        class: ClassId,
        word: Option<&TeachersWord>,
    ) -> Option<KeptGrouping> {
        let mut grouping = self.portfolio.grouping(class)?;
        let unseen = self.portfolio.unseen((self.today)())?;
        let word = word.map(|word| &word.not_shown);
        let as_said = |group: u8| {
            let group = GroupNumber::try_from(group).ok();
            group.is_some_and(|group| word.is_some_and(|word| word.contains(&group)))
        };
        for (child, groups) in &mut grouping.children {
            let said = |group: &u8| as_said(*group) && unseen.contains(&(*child, Some(*group)));
            if !groups.iter().all(said) {
                groups.insert(0);
            }
        }
        Some(KeptGrouping::write(grouping))
    }

    /// What the teacher says now.
    pub(super) fn word(&self, not_shown: BTreeSet<GroupNumber>) -> TeachersWord {
        TeachersWord {
            not_shown,
            unseen: self.unseen(),
            day: (self.today)().0,
        }
    }

    /// The groups that are not shown, of so many, where the list says this: its
    /// own, the teacher's where it cannot tell, or all.
    pub(super) fn not_shown(
        &self,
        covered: &Covered,
        groups: u8,
        word: Option<&TeachersWord>,
    ) -> BTreeSet<GroupNumber> {
        match (covered, word.filter(|word| self.holds(word))) {
            (Covered::Unknown(_), Some(word)) => word.not_shown.clone(),
            _ => numbers(&covered.of(groups)),
        }
    }

    /// Whether it is still that day, and nobody may be seen less than when that was
    /// said: where answers cannot be read, some may end with a day.
    pub(super) fn holds(&self, word: &TeachersWord) -> bool {
        if word.day != (self.today)().0 {
            return false;
        }
        match (&word.unseen, self.unseen()) {
            (None, None) => true,
            (Some(then), Some(now)) => now.is_subset(then),
            _ => false,
        }
    }

    fn unseen(&self) -> Option<BTreeSet<Unseen>> {
        let unseen = self.portfolio.unseen((self.today)())?.into_iter();
        Some(unseen.map(|(child, group)| (child.get(), group)).collect())
    }

    /// Told when what it says may have changed.
    pub(super) fn changes(&self) -> watch::Receiver<()> {
        self.portfolio.changes()
    }
}

fn numbers(groups: &BTreeSet<u8>) -> BTreeSet<GroupNumber> {
    let numbers = groups.iter().map(|number| GroupNumber::try_from(*number));
    numbers.filter_map(Result::ok).collect()
}

/// What a family has said meanwhile holds for the class that runs, too; whether
/// that is news.
pub(super) fn cover(list: Option<&List>, class: Option<&mut Running>) -> bool {
    let (Some(list), Some(class)) = (list, class) else {
        return false;
    };
    // The drawn children of the demo are in no list.
    if class.demo {
        return false;
    }
    let now = class.listed().and_then(|id| list.portfolio.grouping(id));
    let regrouped = class.grouping.is_some() && now.is_some_and(|now| class.grouped(now));
    let covered = list.covered_in(class);
    let not_shown = list.not_shown(&covered, class.groups(), class.word.as_ref());
    let covers = class.clock.do_not_show(&not_shown);
    if let (true, Some(word_at)) = (covers, class.word_at.take()) {
        // Until she said it, whoever that is may have stood elsewhere.
        class.clock.hide_before(word_at);
    }
    covers || regrouped
}
