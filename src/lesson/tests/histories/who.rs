//! Who is refused, and with which groups each child may stand: the truth that the
//! program is held to.

use afterturn_core::rotation::Plan;

use super::super::*;
use super::school::*;

impl School {
    pub(super) fn group_count(&self) -> Option<u8> {
        let inner = self.gym.lesson.lock();
        inner.class.as_ref().map(Running::groups)
    }

    /// Whether a child may not be seen, by everything that the date may be.
    pub(super) fn is_refused(&self, child: &Child) -> bool {
        let Some(heard) = child.heard else {
            return !self.opt_out;
        };
        if !heard.yes {
            return true;
        }
        let (clock, highest) = (self.date().0, self.highest.0);
        // A date further back than that is a clock that lost its time.
        let clock_counts = clock + BELIEVED_DAYS >= highest;
        let in_doubt = clock < highest || clock > highest + BELIEVED_DAYS;
        let mut days = Vec::new();
        if clock_counts {
            days.push(clock);
        }
        if in_doubt {
            days.push(highest);
        }
        let holds =
            |day: &i32| heard.from.0 <= *day && heard.until.is_none_or(|until| *day <= until.0);
        !days.iter().all(holds) && !self.opt_out
    }

    /// Where everybody is, now that a class has begun. What the teacher said of
    /// groups that the list cannot place is true.
    pub(super) fn line_up(&mut self) {
        let (groups, title, word) = {
            let inner = self.gym.lesson.lock();
            let Some(class) = &inner.class else { return };
            let word = class
                .word
                .is_some()
                .then(|| class.clock.not_shown().clone());
            (class.groups(), class.title.clone(), word)
        };
        let in_list = title == "3B" && self.listed_groups() == Some(groups);
        let refused: Vec<bool> = self.children.iter().map(|c| self.is_refused(c)).collect();
        for (child, refused) in self.children.iter_mut().zip(refused) {
            let placed = child.listed.filter(|_| in_list);
            let said: Option<BTreeSet<u8>> = word
                .as_ref()
                .filter(|_| refused)
                .map(|word| word.iter().map(|group| group.get()).collect());
            child.stands_with = match (placed, said) {
                (Some(group), None) => [group].into(),
                // Where her word leaves no room, the child is not here today.
                (Some(group), Some(said)) => said.into_iter().filter(|g| *g == group).collect(),
                (None, Some(said)) => said,
                (None, None) => (1..=groups).collect(),
            };
        }
    }

    /// The class has begun: the ring of places as it would be with children in
    /// every group.
    pub(super) fn set_out(&mut self) {
        let inner = self.gym.lesson.lock();
        let Some(class) = &inner.class else { return };
        let plan = class.clock.plan();
        let circuit = plan.left(plan.first_turn()).unwrap();
        let stations = plan.stations().to_vec();
        self.full = Some(Plan::going_on(circuit, stations, 200, plan.times).unwrap());
        let walker = Walker {
            place: Place::Anywhere,
            there: class.clock.history().all()[0].from,
        };
        self.walkers = vec![walker; plan.sizes().len()];
    }

    pub(super) fn listed_groups(&self) -> Option<u8> {
        self.children.iter().filter_map(|child| child.listed).max()
    }
}
