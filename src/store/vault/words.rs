//! How the database writes the words of the core.

use afterturn_core::consent::{Answer, Kind, Medium, Purpose};
use rusqlite::types::{FromSqlError, ValueRef};

pub(in crate::store) const fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Seen => "seen",
        Kind::Stills => "stills",
        Kind::Clips => "clips",
        Kind::Shared => "shared",
    }
}

pub(super) const fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::Given => "given",
        Answer::Withheld => "withheld",
        Answer::Withdrawn => "withdrawn",
    }
}

pub(super) const fn medium(medium: Medium) -> &'static str {
    match medium {
        Medium::Still => "still",
        Medium::Clip => "clip",
    }
}

pub(super) const fn purpose(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Portfolio => "portfolio",
        Purpose::Family => "family",
    }
}

/// Reads a word back; another one is damage.
pub(super) fn read<T: Copy>(
    row: &rusqlite::Row<'_>,
    column: &str,
    all: &[T],
    word: impl Fn(T) -> &'static str,
) -> rusqlite::Result<T> {
    let at = row.as_ref().column_index(column)?;
    let found = match row.get_ref(at)? {
        ValueRef::Text(text) => all.iter().find(|one| word(**one).as_bytes() == text),
        _ => None,
    };
    found.copied().ok_or_else(|| {
        let why = Box::new(FromSqlError::InvalidType);
        rusqlite::Error::FromSqlConversionFailure(at, rusqlite::types::Type::Text, why)
    })
}
