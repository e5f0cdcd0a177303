//! What families said comes to for who may be seen: asked here, by whatever date the
//! clock shows, and never waited for. It needs no key.
//!
//! Not here: covering (the class clock).

use std::{
    borrow::Cow,
    collections::BTreeSet,
    sync::{Arc, PoisonError},
};

use afterturn_core::{
    consent::{
        Covered, DateWatch, DaySpan, Grouping, ListedChild, Member, Register, Unknown, Veil,
        grouping, listed_children, veils,
    },
    kernel::{ChildId, ClassId, Day},
};

use super::{Portfolio, VaultError, locks::rule};
use crate::store::vault::Rows;

/// What families said comes to, without a name and without a key.
#[derive(Clone, Debug)]
pub(super) struct Answers {
    /// Every child, and from when on it may not be seen.
    pub(super) children: Vec<ListedChild>,
    /// What that comes to for the groups of each class.
    pub(super) veils: Vec<Veil>,
    /// The days by which that was reckoned.
    days: DaySpan,
    /// By what it is reckoned again, once the date has gone back.
    register: Register,
    /// By which the date on the clock is judged.
    watch: DateWatch,
}

impl Answers {
    /// Every child, by the date on the clock; and the last day that today may be.
    fn seen_on(&self, today: Day) -> (Cow<'_, [ListedChild]>, Day) {
        let days = self.watch.days(today);
        if days.first >= self.days.first {
            return (Cow::Borrowed(&self.children), days.last);
        }
        // A yes may not have begun on a day further back.
        let members: Vec<Member> = self.children.iter().map(|child| child.member).collect();
        (
            listed_children(&self.register, &members, days).into(),
            days.last,
        )
    }
}

impl Portfolio {
    pub(super) fn answers(&self) -> Option<Arc<Answers>> {
        let answers = self.answers.read().unwrap_or_else(PoisonError::into_inner);
        answers.clone()
    }

    /// Which groups a class in so many groups has to cover; `so_far` is its
    /// grouping once it runs. Never waits.
    #[must_use]
    pub fn covered(
        &self,
        class: Option<ClassId>,
        groups: u8,
        so_far: Option<&Grouping>,
        today: Day,
    ) -> Covered {
        let Some(known) = self.answers() else {
            return Covered::Unknown(Unknown::Unreadable);
        };
        let (children, last) = known.seen_on(today);
        Covered::by(&children, class, groups, so_far, last)
    }

    /// The groups of a class as the list has them now. Never waits.
    #[must_use]
    pub fn grouping(&self, class: ClassId) -> Option<Grouping> {
        Some(grouping(&self.answers()?.children, class))
    }

    /// The children who may not be seen today, with their groups; none while that is
    /// not known. Never waits.
    #[must_use]
    pub fn unseen(&self, today: Day) -> Option<BTreeSet<(ChildId, Option<u8>)>> {
        let known = self.answers()?;
        let (children, last) = known.seen_on(today);
        let unseen = children.iter().filter(|child| child.is_unseen(last));
        Some(
            unseen
                .map(|child| (child.member.child, child.member.group))
                .collect(),
        )
    }
}

/// All answers, of whoever there are.
pub(super) fn register(rows: &Rows<'_>) -> Result<Register, VaultError> {
    let records = rows.consents()?.into_iter().map(|row| row.record);
    Ok(Register::new(records, rule(rows)?))
}

/// What the rows come to on a day, which needs no key.
pub(super) fn reckon(rows: &Rows<'_>, watch: DateWatch, today: Day) -> Result<Answers, VaultError> {
    let days = watch.days(today);
    let register = register(rows)?;
    let members: Vec<Member> = rows
        .children()?
        .into_iter()
        .map(|row| Member {
            child: row.id,
            class: row.class,
            group: row.group,
        })
        .collect();
    let children = listed_children(&register, &members, days);
    Ok(Answers {
        veils: veils(&children),
        children,
        days,
        register,
        watch,
    })
}
