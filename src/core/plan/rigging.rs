//! What stands at a station, as somebody reads it who has to put it there: a line
//! for each thing.
//!
//! Not here: levels and words, which nobody has to carry.

use super::text::{Language, Text};
use super::unit::{Amount, KitLine};

/// A line in every language.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RigLine {
    /// In English.
    pub en: String,
    /// In Spanish.
    pub es: String,
}

/// What stands there, a line each.
#[must_use]
pub fn rigging(kit: &[KitLine]) -> Vec<RigLine> {
    kit.iter().map(line).collect()
}

fn line(kit: &KitLine) -> RigLine {
    let said = |language| {
        let item = Text::get(&kit.item, language);
        match kit.amount {
            Amount::Count(count) => format!("{count} × {item}"),
            Amount::LengthCm(cm) => format!("{item}: {cm} cm"),
        }
    };
    RigLine {
        en: said(Language::En),
        es: said(Language::Es),
    }
}
