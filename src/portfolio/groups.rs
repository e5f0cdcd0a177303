//! Groups that are as large as each other.
//!
//! Not here: putting a child into a group by hand.

use afterturn_core::kernel::ChildId;

/// Gives each child a group from 1 to `groups`, so that no two groups differ
/// by more than one child. Who has a group keeps it where that can be; `order`
/// says in which order the others are dealt.
#[must_use]
pub fn balance(
    children: &[(ChildId, Option<u8>)],
    groups: u8,
    mut order: impl FnMut() -> u64,
) -> Vec<(ChildId, u8)> {
    let groups = groups.max(1);
    let count = usize::from(groups);
    let mut members: Vec<Vec<ChildId>> = vec![Vec::new(); count];
    let mut free: Vec<ChildId> = Vec::new();
    for (child, group) in children {
        match group {
            Some(group) if (1..=groups).contains(group) => {
                members[usize::from(*group) - 1].push(*child);
            }
            _ => free.push(*child),
        }
    }
    // Some groups get one more: those that have the most already.
    let (least, more) = (children.len() / count, children.len() % count);
    let mut largest: Vec<usize> = (0..count).collect();
    largest.sort_by_key(|group| std::cmp::Reverse(members[*group].len()));
    for (rank, group) in largest.iter().enumerate() {
        let room = least + usize::from(rank < more);
        let from = members[*group].len().min(room);
        free.extend(members[*group].split_off(from));
    }
    let mut dealt: Vec<(u64, ChildId)> = free.into_iter().map(|c| (order(), c)).collect();
    dealt.sort_unstable();
    let mut dealt = dealt.into_iter().map(|(_, child)| child);
    for (rank, group) in largest.iter().enumerate() {
        let room = least + usize::from(rank < more);
        let missing = room - members[*group].len();
        members[*group].extend(dealt.by_ref().take(missing));
    }
    let mut out = Vec::with_capacity(children.len());
    for (group, members) in (1..=groups).zip(members) {
        out.extend(members.into_iter().map(|child| (child, group)));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn groups_are_as_large_as_each_other(
            given in prop::collection::vec(prop::option::of(0..12_u8), 0..40),
            groups in 1..10_u8,
        ) {
            let children: Vec<_> = (1..)
                .zip(given)
                .map(|(n, group)| (ChildId::from_kept(n), group))
                .collect();
            let mut next = 0_u64;
            let dealt = balance(&children, groups, || {
                next = next.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(17);
                next
            });
            prop_assert_eq!(dealt.len(), children.len());
            let sizes: Vec<usize> = (1..=groups)
                .map(|group| dealt.iter().filter(|(_, g)| *g == group).count())
                .collect();
            let (least, most) = (sizes.iter().min().unwrap(), sizes.iter().max().unwrap());
            prop_assert!(most - least <= 1, "{:?}", sizes);
            // Done again, nobody moves.
            let again: Vec<_> = dealt.iter().map(|(c, g)| (*c, Some(*g))).collect();
            let mut same = balance(&again, groups, || 0);
            let mut dealt = dealt;
            same.sort_unstable();
            dealt.sort_unstable();
            prop_assert_eq!(same, dealt);
        }
    }
}
