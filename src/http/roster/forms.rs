//! Forms as they are shown, with what was typed into them and what is wrong with
//! it.
//!
//! Not here: what any form is for.

use afterturn_core::kernel::Day;

use super::typed::{Faults, Typed};
use crate::http::words::Words;

/// One of several to choose from.
pub(super) struct Choice {
    pub(super) value: String,
    pub(super) label: String,
    pub(super) chosen: bool,
    /// It cannot be chosen; its label says why.
    pub(super) off: bool,
}

/// A field as it is shown. `kind` is what the template knows.
pub(super) struct Field {
    pub(super) kind: &'static str,
    pub(super) name: String,
    pub(super) label: String,
    pub(super) hint: Option<&'static str>,
    pub(super) value: String,
    pub(super) error: Option<&'static str>,
    pub(super) choices: Vec<Choice>,
    pub(super) complete: &'static str,
}

/// A form as it is shown.
pub(super) struct Form {
    pub(super) id: &'static str,
    pub(super) button: &'static str,
    pub(super) fields: Vec<Field>,
    pub(super) hidden: Vec<(String, String)>,
    pub(super) done: Option<&'static str>,
    pub(super) has_files: bool,
    pub(super) apart: bool,
}

/// Makes the forms of a page: the one that was posted is shown as it was
/// typed, the others as things are.
pub(super) struct Maker<'m> {
    pub(super) words: &'static Words,
    pub(super) typed: &'m Typed,
    pub(super) faults: &'m Faults,
    pub(super) done: Option<&'m str>,
}

impl<'m> Maker<'m> {
    /// A form by its id, the sentence on its button, and the one that says it
    /// was done.
    pub(super) fn form(
        &self,
        id: &'static str,
        button: &'static str,
        done: &'static str,
    ) -> FormMaker<'m> {
        let posted = self.typed.is_for(id).then_some(self.typed);
        FormMaker {
            words: self.words,
            posted,
            faults: posted.map(|_| self.faults),
            form: Form {
                id,
                button: self.words.get(button),
                fields: Vec::new(),
                hidden: Vec::new(),
                done: (self.done == Some(id)).then(|| self.words.get(done)),
                has_files: false,
                apart: false,
            },
        }
    }
}

/// See [`Maker::form`].
pub(super) struct FormMaker<'m> {
    words: &'static Words,
    posted: Option<&'m Typed>,
    faults: Option<&'m Faults>,
    form: Form,
}

impl FormMaker<'_> {
    fn field(mut self, kind: &'static str, name: &str, label: String, now: &str) -> Self {
        let secret = kind == "password" || kind == "file";
        let value = match self.posted {
            Some(_) if secret => String::new(),
            Some(typed) => typed.get(name).to_owned(),
            None => now.to_owned(),
        };
        let fault = self.faults.and_then(|faults| faults.of(name));
        self.form.fields.push(Field {
            kind,
            name: name.to_owned(),
            label,
            hint: None,
            value,
            error: fault.map(|id| self.words.get(id)),
            choices: Vec::new(),
            complete: "off",
        });
        self
    }

    pub(super) fn text(self, name: &str, label: &'static str, now: &str) -> Self {
        let label = self.words.get(label).to_owned();
        self.field("text", name, label, now)
    }

    pub(super) fn date(self, name: &str, label: &'static str, now: Option<Day>) -> Self {
        let label = self.words.get(label).to_owned();
        let now = now.map_or_else(String::new, |day| day.to_string());
        self.field("date", name, label, &now)
    }

    pub(super) fn number(self, name: &str, label: &'static str, now: &str) -> Self {
        let label = self.words.get(label).to_owned();
        self.field("number", name, label, now)
    }

    pub(super) fn long(self, name: &str, label: &'static str) -> Self {
        let label = self.words.get(label).to_owned();
        self.field("long", name, label, "")
    }

    pub(super) fn secret(mut self, name: &str, label: &'static str, new: bool) -> Self {
        let label = self.words.get(label).to_owned();
        self = self.field("password", name, label, "");
        if let Some(field) = self.form.fields.last_mut() {
            field.complete = if new {
                "new-password"
            } else {
                "current-password"
            };
        }
        self
    }

    pub(super) fn file(mut self, name: &str, label: &'static str) -> Self {
        let label = self.words.get(label).to_owned();
        self.form.has_files = true;
        self.field("file", name, label, "")
    }

    /// A tick that says "I mean it".
    pub(super) fn sure(self, label: &'static str) -> Self {
        let label = self.words.get(label).to_owned();
        self.field("check", "sure", label, "")
    }

    /// One of several; `kind` is `select` or `radio`.
    pub(super) fn choose(
        mut self,
        kind: &'static str,
        name: &str,
        label: String,
        choices: impl IntoIterator<Item = (String, String)>,
        now: &str,
    ) -> Self {
        self = self.field(kind, name, label, now);
        if let Some(field) = self.form.fields.last_mut() {
            let value = field.value.clone();
            let choice = |(of, label)| Choice {
                chosen: value == of,
                value: of,
                label,
                off: false,
            };
            field.choices = choices.into_iter().map(choice).collect();
        }
        self
    }

    /// Any of several.
    pub(super) fn checks(
        mut self,
        name: &str,
        label: &'static str,
        choices: impl IntoIterator<Item = (String, String)>,
    ) -> Self {
        let label = self.words.get(label).to_owned();
        let chosen: Vec<String> = self
            .posted
            .map(|typed| typed.all(name).map(ToOwned::to_owned).collect())
            .unwrap_or_default();
        self = self.field("checks", name, label, "");
        if let Some(field) = self.form.fields.last_mut() {
            let choice = |(value, label)| Choice {
                chosen: chosen.contains(&value),
                value,
                label,
                off: false,
            };
            field.choices = choices.into_iter().map(choice).collect();
        }
        self
    }

    /// Any of several, of which some cannot be chosen.
    pub(super) fn choices(
        mut self,
        name: &str,
        label: &'static str,
        choices: impl IntoIterator<Item = Choice>,
    ) -> Self {
        let label = self.words.get(label).to_owned();
        self = self.field("checks", name, label, "");
        if let Some(field) = self.form.fields.last_mut() {
            field.choices = choices.into_iter().collect();
        }
        self
    }

    /// What helps with the field before.
    pub(super) fn hint(mut self, id: &'static str) -> Self {
        if let Some(field) = self.form.fields.last_mut() {
            field.hint = Some(self.words.get(id));
        }
        self
    }

    pub(super) fn hidden(mut self, name: &str, value: impl Into<String>) -> Self {
        self.form.hidden.push((name.to_owned(), value.into()));
        self
    }

    /// Set apart: it cannot be undone.
    pub(super) fn apart(mut self) -> Self {
        self.form.apart = true;
        self
    }

    pub(super) fn done(self) -> Form {
        self.form
    }
}
