//! One value of a TOML tree, asked for by type: text, a whole number between
//! bounds, a table, a row of tables. What it is instead is noted as a mistake.
//!
//! Not here: which keys there are.

use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::DeValue;

use super::diagnostic::Diagnostic;
use super::reader::{Findings, Table};
use super::sentence::{Sentence, say};

/// A key with its value.
#[derive(Clone)]
pub struct Entry<'t> {
    findings: &'t Findings,
    /// The key.
    pub key: &'static str,
    /// Where the key stands.
    pub key_span: Range<usize>,
    value: &'t DeValue<'t>,
    /// Where the value stands.
    pub span: Range<usize>,
}

impl<'t> Entry<'t> {
    /// The value that stands at `key`.
    pub(super) fn new(
        findings: &'t Findings,
        key: &'static str,
        key_span: Range<usize>,
        value: &'t Spanned<DeValue<'t>>,
    ) -> Self {
        Self {
            findings,
            key,
            key_span,
            value: value.get_ref(),
            span: value.span(),
        }
    }

    /// Notes that the value is wrong.
    pub fn refuse(&self, message: impl Into<Sentence>, fix: impl Into<Sentence>) {
        self.findings
            .add(Diagnostic::mistake(self.span.clone(), message, fix));
    }

    /// Notes that the value could be better.
    pub fn warn(&self, message: impl Into<Sentence>, fix: impl Into<Sentence>) {
        self.findings
            .add(Diagnostic::warning(self.span.clone(), message, fix));
    }

    /// Keeps the value out of everything shown.
    pub fn hide(&self) {
        self.findings.hide(self.span.clone());
    }

    fn wrong_type(&self, wanted: &str, fix: impl Into<Sentence>) {
        self.refuse(
            format!("`{}` is {wanted}, not {}", self.key, kind_of(self.value)),
            fix,
        );
    }

    /// The value as text.
    #[must_use]
    pub fn text(&self) -> Option<&'t str> {
        let DeValue::String(text) = self.value else {
            self.wrong_type("text", "put it in quotation marks: \"…\"");
            return None;
        };
        Some(text)
    }

    /// The value as a whole number.
    #[must_use]
    pub fn whole(&self) -> Option<i64> {
        match self.value {
            DeValue::Integer(number) => {
                let parsed = i64::from_str_radix(number.as_str(), number.radix());
                if parsed.is_err() {
                    self.refuse(
                        format!("`{}` is far too large", self.key),
                        "write a smaller number",
                    );
                }
                return parsed.ok();
            }
            DeValue::String(text) if text.parse::<i64>().is_ok() => {
                self.wrong_type("a whole number", "take the quotation marks away");
            }
            DeValue::Float(_) => self.wrong_type("a whole number", "write it without a point"),
            DeValue::String(_) => self.refuse(
                say!(
                    "whole-not-text",
                    "`{key}` is a whole number, not text",
                    key = self.key
                ),
                say!("digits-only", "write digits only"),
            ),
            _ => self.wrong_type("a whole number", "write digits only"),
        }
        None
    }

    /// The value as a whole number between two bounds.
    #[must_use]
    pub fn whole_within(&self, bounds: RangeInclusive<u32>) -> Option<u32> {
        let given = self.whole()?;
        let within = u32::try_from(given).ok().filter(|n| bounds.contains(n));
        if within.is_none() {
            let (least, most) = (*bounds.start(), *bounds.end());
            let near = given.clamp(i64::from(least), i64::from(most));
            self.refuse(
                say!(
                    "out-of-bounds",
                    "`{key}` goes from {least} to {most}, not {given}",
                    key = self.key,
                    least = least,
                    most = most,
                    given = given
                ),
                say!("nearest", "the nearest possible is {near}", near = near),
            );
        }
        within
    }

    /// The value as true or false.
    #[must_use]
    pub fn flag(&self) -> Option<bool> {
        let DeValue::Boolean(flag) = self.value else {
            self.wrong_type(
                "true or false",
                "write true or false, without quotation marks",
            );
            return None;
        };
        Some(*flag)
    }

    /// Whether the value is text, rightly or not.
    #[must_use]
    pub fn is_text(&self) -> bool {
        matches!(self.value, DeValue::String(_))
    }

    /// The value as a list; each of its items is spoken of by the list's key.
    #[must_use]
    pub fn list(&self, fix: &str) -> Vec<Self> {
        let DeValue::Array(items) = self.value else {
            self.wrong_type("a list", fix);
            return Vec::new();
        };
        let one = |item| Self::new(self.findings, self.key, self.key_span.clone(), item);
        items.iter().map(one).collect()
    }

    /// The value as a table, opened for reading.
    #[must_use]
    pub fn table(&self, what: &'static str, header: &str) -> Option<Table<'t>> {
        match self.value {
            DeValue::Table(table) => {
                Some(Table::new(self.findings, table, self.span.clone(), what))
            }
            DeValue::Array(_) => {
                self.wrong_type("one table", format!("write it once, under {header}"));
                None
            }
            _ => {
                self.wrong_type("a table", format!("write its keys under {header}"));
                None
            }
        }
    }

    /// The value as a row of tables.
    #[must_use]
    pub fn tables(&self, what: &'static str, header: &str) -> Vec<Table<'t>> {
        let fix = format!("start each one with {header}");
        match self.value {
            DeValue::Array(items) if items.is_empty() => {
                self.refuse(say!("empty", "`{key}` is empty", key = self.key), fix);
                Vec::new()
            }
            DeValue::Array(items) => items
                .iter()
                .filter_map(|item| self.one_of_row(item, what, &fix))
                .collect(),
            DeValue::Table(table) => {
                self.refuse(format!("`{}` may come several times", self.key), fix);
                // Its inside is read all the same, for what else is wrong in it.
                vec![Table::new(self.findings, table, self.span.clone(), what)]
            }
            _ => {
                self.wrong_type("a row of tables", fix);
                Vec::new()
            }
        }
    }

    fn one_of_row(
        &self,
        item: &'t Spanned<DeValue<'t>>,
        what: &'static str,
        fix: &str,
    ) -> Option<Table<'t>> {
        let DeValue::Table(table) = item.get_ref() else {
            self.findings.add(Diagnostic::mistake(
                item.span(),
                format!(
                    "`{}` holds tables, not {}",
                    self.key,
                    kind_of(item.get_ref())
                ),
                fix,
            ));
            return None;
        };
        Some(Table::new(self.findings, table, item.span(), what))
    }
}

/// A value's type in everyday words.
fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with a point",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
