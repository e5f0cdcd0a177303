//! Which figures there are to show as a cue, by their ids.
//!
//! Not here: what they look like (`web/figures/`). The list is the one the
//! pages' scripts are tested against.

/// One id a line.
const NAMES: &str = include_str!("../../../web/figures/names.txt");

/// Every figure's id, in the order they are shown.
pub fn figures() -> impl Iterator<Item = &'static str> {
    NAMES.lines()
}

/// Whether there is such a figure.
#[must_use]
pub fn is_figure(id: &str) -> bool {
    figures().any(|figure| figure == id)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn ids_are_plain_and_none_stands_twice() {
        let all: Vec<_> = figures().collect();
        assert!(all.len() >= 40, "{}", all.len());
        for id in &all {
            let plain = |c: char| c.is_ascii_lowercase() || c == '-';
            assert!(id.chars().all(plain) && !id.is_empty(), "{id:?}");
        }
        assert_eq!(all.iter().collect::<BTreeSet<_>>().len(), all.len());
    }

    #[test]
    fn a_unit_may_name_a_figure_there_is_and_no_other() {
        assert!(is_figure("forward-roll") && is_figure("counter-balance"));
        assert!(!is_figure("Forward roll") && !is_figure("") && !is_figure("forward-roll\n"));
    }
}
