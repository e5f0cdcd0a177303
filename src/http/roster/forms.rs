//! Forms: what was typed, what is wrong with it, and how they are shown again
//! with both.
//!
//! Not here: what any form is for.

use afterturn_core::kernel::{Day, Name, NameError};
use warp::http::{HeaderMap, header};
use warp::hyper::body::Bytes;

use super::multipart;
use crate::http::{Kind, Problem, words::Words};
use crate::portfolio::import::File;

/// What was typed into a form, and the files that came with it.
#[derive(Default)]
pub(super) struct Typed {
    fields: Vec<(String, String)>,
    pub(super) files: Vec<(String, File)>,
}

/// The field that says which form it is.
const DO: &str = "do";
/// The fields of a form that was held up by a locked vault carry this.
const CARRIED: &str = "carried.";

impl Typed {
    pub(super) fn read(headers: &HeaderMap, body: &Bytes) -> Result<Self, Problem> {
        let kind = headers.get(header::CONTENT_TYPE);
        let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let Some(boundary) = multipart::boundary(kind) else {
            return Ok(Self {
                fields: form_urlencoded::parse(body).into_owned().collect(),
                files: Vec::new(),
            });
        };
        let parts = multipart::read(body, boundary)
            .ok_or_else(|| Problem::new(Kind::BadRequest, "this form cannot be read"))?;
        let mut typed = Self::default();
        for part in parts {
            match part.file {
                // A browser sends an empty part where no file was chosen.
                Some(_) if part.bytes.is_empty() => {}
                Some(name) => {
                    let bytes = part.bytes.to_vec();
                    typed.files.push((part.name, File { name, bytes }));
                }
                None => {
                    let text = String::from_utf8_lossy(part.bytes).into_owned();
                    typed.fields.push((part.name, text));
                }
            }
        }
        Ok(typed)
    }

    pub(super) fn get(&self, name: &str) -> &str {
        self.all(name).next().unwrap_or_default()
    }

    pub(super) fn all<'t>(&'t self, name: &str) -> impl Iterator<Item = &'t str> {
        let of_name =
            move |(field, value): &'t (String, String)| (field == name).then_some(value.as_str());
        self.fields
            .iter()
            .filter_map(of_name)
            .collect::<Vec<_>>()
            .into_iter()
    }

    pub(super) fn fields(&self) -> &[(String, String)] {
        &self.fields
    }

    /// Whether this came from the form of that name.
    pub(super) fn is_for(&self, form: &str) -> bool {
        self.get(DO) == form
    }

    /// What another form held before the vault was found locked.
    pub(super) fn take_carried(&self) -> Option<Self> {
        let carried = |(name, value): &(String, String)| {
            let name = name.strip_prefix(CARRIED)?.to_owned();
            Some((name, value.clone()))
        };
        let fields: Vec<_> = self.fields.iter().filter_map(carried).collect();
        (!fields.is_empty()).then(|| Self {
            fields,
            files: Vec::new(),
        })
    }

    /// The fields of this form, to be carried by another. No secret is.
    pub(super) fn to_carry(&self) -> Vec<(String, String)> {
        let open = |name: &str| !name.contains("passphrase") && name != "code";
        if self.is_for("unlock") {
            let carried = self
                .fields
                .iter()
                .filter(|(name, _)| name.starts_with(CARRIED));
            return carried.cloned().collect();
        }
        let fields = self.fields.iter().filter(|(name, _)| open(name));
        fields
            .map(|(name, value)| (format!("{CARRIED}{name}"), value.clone()))
            .collect()
    }

    pub(super) fn name(&self, field: &'static str, faults: &mut Faults) -> Option<Name> {
        match Name::new(self.get(field)) {
            Ok(name) => Some(name),
            Err(error) => {
                faults.add(field, name_fault(error));
                None
            }
        }
    }

    pub(super) fn optional_name(&self, field: &'static str, faults: &mut Faults) -> Option<Name> {
        match Name::new(self.get(field)) {
            Ok(name) => Some(name),
            Err(NameError::Empty) => None,
            Err(error) => {
                faults.add(field, name_fault(error));
                None
            }
        }
    }

    pub(super) fn day(&self, field: &'static str, faults: &mut Faults) -> Option<Day> {
        let day = self.get(field).parse();
        day.map_err(|_| faults.add(field, "roster-fault-date")).ok()
    }

    pub(super) fn optional_day(&self, field: &'static str, faults: &mut Faults) -> Option<Day> {
        if self.get(field).trim().is_empty() {
            None
        } else {
            self.day(field, faults)
        }
    }

    /// A group's number, or none.
    pub(super) fn group(&self, field: &'static str, faults: &mut Faults) -> Option<u8> {
        let text = self.get(field).trim();
        let group = text.parse().ok().filter(|group| (1..=99).contains(group));
        if group.is_none() && !text.is_empty() {
            faults.add(field, "roster-fault-group");
        }
        group
    }

    /// Whether somebody said that they mean it.
    pub(super) fn sure(&self, faults: &mut Faults) -> bool {
        let sure = self.get("sure") == "yes";
        if !sure {
            faults.add("sure", "roster-fault-sure");
        }
        sure
    }
}

fn name_fault(error: NameError) -> &'static str {
    match error {
        NameError::Empty => "roster-fault-empty",
        NameError::Long => "roster-fault-long",
        NameError::Sign => "roster-fault-sign",
    }
}

/// What is wrong, field by field, by the ids of sentences.
#[derive(Default)]
pub(super) struct Faults(Vec<(&'static str, &'static str)>);

impl Faults {
    pub(super) fn add(&mut self, field: &'static str, sentence: &'static str) {
        self.0.push((field, sentence));
    }

    pub(super) fn one(field: &'static str, sentence: &'static str) -> Self {
        Self(vec![(field, sentence)])
    }

    /// The first of them.
    pub(super) fn sentence(&self) -> &'static str {
        self.0
            .first()
            .map_or("roster-fault-empty", |(_, sentence)| sentence)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn of(&self, field: &str) -> Option<&'static str> {
        let found = self.0.iter().find(|(name, _)| *name == field);
        found.map(|(_, sentence)| *sentence)
    }
}

/// One of several to choose from.
pub(super) struct Choice {
    pub(super) value: String,
    pub(super) label: String,
    pub(super) chosen: bool,
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
            };
            field.choices = choices.into_iter().map(choice).collect();
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
