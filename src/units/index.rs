//! What a unit file names, and where: what holds between its stations is
//! checked here, on whatever could be read, so that one mistake hides no other.
//!
//! Not here: what a single key may hold.

use std::ops::Range;

use afterturn_core::kernel::StationNumber;
use afterturn_core::plan::{Colour, Grade, Grades, Id, Shape};

use crate::settings::diagnostic::Diagnostic;
use crate::settings::reader::Findings;
use crate::settings::sentence::{Sentence, say};

mod references;

/// What has an id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Station,
    Level,
    OtherWay,
    Cue,
}

/// Something with an id.
#[derive(Clone)]
pub(super) struct Named {
    /// Its id and where that stands.
    pub(super) id: Option<(Id, Range<usize>)>,
    /// What it is.
    pub(super) kind: Kind,
    /// Its station's place in the file.
    pub(super) station: usize,
    /// Who has it.
    pub(super) grades: Grades,
    /// What has to be done first.
    pub(super) after: Option<(Id, Range<usize>)>,
    /// What it belongs to.
    pub(super) of: Option<(Id, Range<usize>)>,
}

impl Named {
    pub(super) const fn new(kind: Kind, station: usize, grades: Grades) -> Self {
        Self {
            id: None,
            kind,
            station,
            grades,
            after: None,
            of: None,
        }
    }

    fn is(&self, id: &Id) -> bool {
        self.id.as_ref().is_some_and(|(own, _)| own == id)
    }
}

/// A key that a band says something of.
pub(super) struct Said {
    pub(super) station: usize,
    pub(super) key: String,
    pub(super) grades: Grades,
    pub(super) span: Range<usize>,
}

/// A part of a mark.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum OfMark {
    Number(StationNumber),
    Shape(Shape),
    Colour(Colour),
}

impl From<StationNumber> for OfMark {
    fn from(number: StationNumber) -> Self {
        Self::Number(number)
    }
}

impl From<Shape> for OfMark {
    fn from(shape: Shape) -> Self {
        Self::Shape(shape)
    }
}

impl From<Colour> for OfMark {
    fn from(colour: Colour) -> Self {
        Self::Colour(colour)
    }
}

/// One station's place, grades, and what is said of its mark.
struct Place {
    span: Range<usize>,
    grades: Grades,
    marks: Vec<(Grades, OfMark, Range<usize>)>,
}

impl Place {
    /// A part of its mark in a grade; the later counts.
    fn mark<T>(
        &self,
        grade: Grade,
        part: impl Fn(OfMark) -> Option<T>,
    ) -> Option<(T, Range<usize>)> {
        let said = self
            .marks
            .iter()
            .rev()
            .filter(|(run, ..)| run.contains(grade));
        let mut parts = said.filter_map(|(_, of, span)| Some((part(*of)?, span.clone())));
        parts.next().filter(|_| self.grades.contains(grade))
    }
}

/// Everything a file names.
#[derive(Default)]
pub(super) struct Index {
    places: Vec<Place>,
    named: Vec<Named>,
    said: Vec<Said>,
}

impl Index {
    /// A station begins; what follows is its own.
    pub(super) fn station(&mut self, span: Range<usize>, grades: Grades) -> usize {
        self.places.push(Place {
            span,
            grades,
            marks: Vec::new(),
        });
        self.places.len() - 1
    }

    pub(super) fn add(&mut self, named: Named) {
        self.named.push(named);
    }

    pub(super) fn band(&mut self, said: Said) {
        self.said.push(said);
    }

    pub(super) fn mark(&mut self, station: usize, run: Grades, of: OfMark, span: Range<usize>) {
        self.places[station].marks.push((run, of, span));
    }

    /// Checks what holds between the parts.
    pub(super) fn check(&self, findings: &Findings, unit: Grades) {
        self.ids(findings);
        self.marks(findings, unit);
        self.bands(findings);
        self.firsts(findings);
        self.owners(findings);
        self.offers(findings);
        self.rooms(findings, unit);
    }

    fn ids(&self, findings: &Findings) {
        let all: Vec<_> = self
            .named
            .iter()
            .filter_map(|one| one.id.as_ref())
            .collect();
        for (at, (id, span)) in all.iter().enumerate() {
            if let Some((_, first)) = all[..at].iter().find(|(other, _)| other == id) {
                findings.add(
                    Diagnostic::mistake(
                        span.clone(),
                        say!("id-twice", "the id `{id}` is used already", id = id),
                        say!(
                            "own-id",
                            "give it one of its own; an id never comes twice in a unit"
                        ),
                    )
                    .with_also(first.clone(), "it is used here first"),
                );
            }
        }
    }

    fn marks(&self, findings: &Findings, unit: Grades) {
        let number = |of| match of {
            OfMark::Number(number) => Some(number),
            _ => None,
        };
        let numbers = self.twice(unit, |place, grade| place.mark(grade, number));
        for (grade, span, first) in numbers {
            findings.add(
                Diagnostic::mistake(
                    span,
                    say!(
                        "number-twice",
                        "grade {grade} has two stations with this number",
                        grade = grade
                    ),
                    say!("another-number", "give one of them another number"),
                )
                .with_also(first, "the other is here"),
            );
        }
        let shape = |of| match of {
            OfMark::Shape(shape) => Some(shape),
            _ => None,
        };
        let colour = |of| match of {
            OfMark::Colour(colour) => Some(colour),
            _ => None,
        };
        let signs = self.twice(unit, |place, grade| {
            let (shape, span) = place.mark(grade, shape)?;
            Some(((shape, place.mark(grade, colour)?.0), span))
        });
        for (grade, span, first) in signs {
            findings.add(
                Diagnostic::mistake(
                    span,
                    say!(
                        "sign-twice",
                        "grade {grade} has two stations with this shape and colour",
                        grade = grade
                    ),
                    say!(
                        "another-sign",
                        "change the shape or the colour of one, for those who cannot read yet"
                    ),
                )
                .with_also(first, "the other is here"),
            );
        }
    }

    /// What two stations have alike in some grade: the first such grade, the
    /// later place and the earlier one. Each pair of places once.
    fn twice<T: PartialEq>(
        &self,
        unit: Grades,
        part: impl Fn(&Place, Grade) -> Option<(T, Range<usize>)>,
    ) -> Vec<(Grade, Range<usize>, Range<usize>)> {
        let mut found: Vec<(Grade, Range<usize>, Range<usize>)> = Vec::new();
        for grade in unit.iter() {
            let all: Vec<_> = self
                .places
                .iter()
                .filter_map(|one| part(one, grade))
                .collect();
            for (at, (value, span)) in all.iter().enumerate() {
                let first = all[..at].iter().find(|(other, _)| other == value);
                let Some((_, first)) = first else { continue };
                if !found.iter().any(|(_, a, b)| a == span && b == first) {
                    found.push((grade, span.clone(), first.clone()));
                }
            }
        }
        found
    }

    fn bands(&self, findings: &Findings) {
        for (at, said) in self.said.iter().enumerate() {
            let clash = self.said[..at].iter().find(|other| {
                other.station == said.station
                    && other.key == said.key
                    && other.grades.meets(said.grades)
            });
            if let Some(first) = clash {
                findings.add(
                    Diagnostic::mistake(
                        said.span.clone(),
                        say!(
                            "bands-meet",
                            "two bands set {key} for the same grade",
                            key = said.key
                        ),
                        say!(
                            "bands-apart",
                            "give the two bands grades that do not overlap"
                        ),
                    )
                    .with_also(first.span.clone(), "the other is here"),
                );
            }
        }
    }

    /// Each grade of a station has a level, another way and a cue.
    fn offers(&self, findings: &Findings) {
        let wanted = [
            (Kind::Level, "level", "no-level-for"),
            (Kind::OtherWay, "other way", "no-way-for"),
            (Kind::Cue, "cue", "no-cue-for"),
        ];
        for (station, place) in self.places.iter().enumerate() {
            for (kind, word, known_as) in wanted {
                let all = self.named.iter();
                let all: Vec<&Named> = all
                    .filter(|one| one.station == station && one.kind == kind)
                    .collect();
                // Where there is none at all, its absence is reported already.
                if all.is_empty() {
                    continue;
                }
                let mut bare = place.grades.iter();
                let bare = bare.find(|grade| !all.iter().any(|one| one.grades.contains(*grade)));
                if let Some(grade) = bare {
                    findings.add(
                        Diagnostic::mistake(
                            place.span.clone(),
                            Sentence::known_as(
                                format!("this station has no {word} for grade {grade}"),
                                known_as,
                                [("grade", grade.to_string())],
                            ),
                            say!(
                                "add-for",
                                "add one, or open one of the others to grade {grade}",
                                grade = grade
                            ),
                        )
                        .about_absence(),
                    );
                }
            }
        }
    }

    fn rooms(&self, findings: &Findings, unit: Grades) {
        let bare = |grade: &Grade| !self.places.iter().any(|one| one.grades.contains(*grade));
        if let Some(grade) = unit.iter().find(bare).filter(|_| !self.places.is_empty()) {
            findings.add(
                Diagnostic::mistake(
                    0..0,
                    say!(
                        "no-station",
                        "grade {grade} has no station at all",
                        grade = grade
                    ),
                    say!(
                        "give-station",
                        "give it one, or take it out of the unit's `grades`"
                    ),
                )
                .about_absence(),
            );
        }
    }
}
