//! What was typed into a form, and what is wrong with it.
//!
//! Not here: what any form is for, or how it is shown.

use afterturn_core::kernel::{Day, Name, NameError};
use warp::http::{HeaderMap, header};
use warp::hyper::body::Bytes;

use super::multipart;
use crate::http::{Kind, Problem};
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

/// More than any form of ours has; each costs some hundred bytes, however short.
const MOST_FIELDS: usize = 1000;

/// A pasted list of a large school; it comes back with the page that says what is
/// wrong with it. What is longer comes as a file.
const MOST_FIELD_BYTES: usize = 1024 * 1024;

impl Typed {
    pub(super) fn read(headers: &HeaderMap, body: &Bytes) -> Result<Self, Problem> {
        let kind = headers.get(header::CONTENT_TYPE);
        let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let Some(boundary) = multipart::boundary(kind) else {
            let mut typed = Self::default();
            for (name, value) in form_urlencoded::parse(body) {
                typed.add(&name, &value)?;
            }
            return Ok(typed);
        };
        let parts = multipart::read(body, boundary)
            .ok_or_else(|| Problem::new(Kind::BadRequest, "this form cannot be read"))?;
        let mut typed = Self::default();
        for part in parts {
            match part.file {
                // A browser sends an empty part where no file was chosen.
                Some(_) if part.bytes.is_empty() => {}
                Some(name) => {
                    // Shared with the body: a file may be as large as that.
                    let bytes = body.slice_ref(part.bytes);
                    typed.files.push((part.name, File { name, bytes }));
                }
                None => typed.add(&part.name, &String::from_utf8_lossy(part.bytes))?,
            }
        }
        Ok(typed)
    }

    fn add(&mut self, name: &str, value: &str) -> Result<(), Problem> {
        if self.fields.len() == MOST_FIELDS {
            return Err(Problem::new(
                Kind::TooLarge,
                format!("a form here has at most {MOST_FIELDS} fields; nothing was changed"),
            ));
        }
        if name.len() + value.len() > MOST_FIELD_BYTES {
            return Err(Problem::new(
                Kind::TooLarge,
                "what was typed or pasted into one field is more than 1 MiB; nothing was \
                 changed; save it as a CSV file and choose that file instead",
            ));
        }
        self.fields.push((name.to_owned(), value.to_owned()));
        Ok(())
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

    pub(super) fn of(&self, field: &str) -> Option<&'static str> {
        let found = self.0.iter().find(|(name, _)| *name == field);
        found.map(|(_, sentence)| *sentence)
    }
}
