//! What the list of children says of a class that starts or runs: bare numbers
//! of groups that are not to be shown.
//!
//! What it says is added to what somebody said, and never takes anything away.
//! Of a class that is in the list, nothing is believed that was remembered from
//! the last time: who is in which group, and what families say, may have
//! changed since.
//!
//! Not here: names; and covering (the class clock).

use std::{collections::BTreeSet, sync::Arc, time::Duration};

use afterturn_core::{
    kernel::{CaptureUs, ClassId, Day},
    rotation::GroupNumber,
};
use tokio::{task::spawn_blocking, time::timeout};

use super::book::Running;
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

    /// The groups of a class in so many that are not to be shown today; none
    /// where that is not known.
    pub(super) fn not_shown(&self, class: ClassId, groups: u8) -> Option<BTreeSet<GroupNumber>> {
        let today = (self.today)();
        let covered = self.portfolio.covered(class, groups, today)?;
        let numbers = covered.into_iter().map(GroupNumber::try_from);
        numbers.collect::<Result<_, _>>().ok()
    }
}

/// What a family has said meanwhile holds for the class that runs, too; whether
/// that is news.
pub(super) fn cover(list: Option<&List>, class: Option<&mut Running>) -> bool {
    let (Some(list), Some(class)) = (list, class) else {
        return false;
    };
    let groups = class.clock.plan().sizes().len() as u8;
    let id = class.listed.map(ClassId::from_kept);
    let not_shown = id.and_then(|id| list.not_shown(id, groups));
    not_shown.is_some_and(|groups| class.clock.do_not_show(&groups))
}
