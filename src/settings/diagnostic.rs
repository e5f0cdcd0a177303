//! A mistake in a file a person wrote, and the page that shows all of them:
//! file, line, column, the line itself, a caret under the place, what is wrong
//! and what to write instead.
//!
//! Not here: finding mistakes (that is the reader and each file's own rules),
//! nor deciding what in a line must stay hidden (that is [`super::mask`]).

use std::fmt;
use std::ops::Range;

use super::mask;
use super::sentence::Sentence;

/// The most mistakes one page shows. Nobody works through more in one go, and a
/// picture opened by accident would otherwise make thousands.
const MOST_SHOWN: usize = 50;

/// The widest a source line is shown, so that caret and text stay side by side
/// on an ordinary terminal.
const WIDEST_LINE: usize = 100;

/// Whether the file can be used as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// It cannot.
    Mistake,
    /// It can; someone should still look.
    Warning,
}

/// A second place that belongs to a mistake: where a number was first used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Where, in bytes.
    pub span: Range<usize>,
    /// What is there.
    pub text: String,
}

/// One thing wrong at one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// How bad.
    pub severity: Severity,
    /// Where, in bytes of the file's text.
    pub span: Range<usize>,
    /// What is wrong. Never quotes a password or the inside of an address.
    pub message: Sentence,
    /// What to do about it.
    pub fix: Sentence,
    /// A second place.
    pub also: Option<Note>,
    /// Something is *not* there. Where the file's grammar is broken nearby,
    /// such a finding is a guess and is left out.
    pub absence: bool,
}

impl Diagnostic {
    /// A mistake.
    pub fn mistake(
        span: Range<usize>,
        message: impl Into<Sentence>,
        fix: impl Into<Sentence>,
    ) -> Self {
        Self {
            severity: Severity::Mistake,
            span,
            message: message.into(),
            fix: fix.into(),
            also: None,
            absence: false,
        }
    }

    /// A warning.
    pub fn warning(
        span: Range<usize>,
        message: impl Into<Sentence>,
        fix: impl Into<Sentence>,
    ) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::mistake(span, message, fix)
        }
    }

    /// This, with a second place.
    #[must_use]
    pub fn with_also(mut self, span: Range<usize>, text: impl Into<String>) -> Self {
        self.also = Some(Note {
            span,
            text: text.into(),
        });
        self
    }

    /// This, as a finding about something that is not there.
    #[must_use]
    pub fn about_absence(mut self) -> Self {
        self.absence = true;
        self
    }
}

/// A place as a person counts: from 1, in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The line.
    pub line: usize,
    /// The column.
    pub column: usize,
}

/// A file's text with its name and what of it must never be shown.
pub struct Source {
    name: String,
    text: String,
    /// None where nothing in the file is a secret.
    known: Option<mask::KnownKeys>,
    secrets: Vec<Range<usize>>,
}

impl fmt::Debug for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Source({}, {} bytes)", self.name, self.text.len())
    }
}

impl Source {
    /// A text called `name`; `known` says which keys' values may be shown.
    pub fn new(name: impl Into<String>, text: String, known: mask::KnownKeys) -> Self {
        Self {
            name: name.into(),
            text,
            known: Some(known),
            secrets: Vec::new(),
        }
    }

    /// A text called `name` in which nothing is a secret.
    pub fn without_secrets(name: impl Into<String>, text: String) -> Self {
        let known = mask::KnownKeys::open_only(&[]);
        Self {
            known: None,
            ..Self::new(name, text, known)
        }
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Hides these stretches too, whatever their lines look like.
    pub fn hide(&mut self, spans: impl IntoIterator<Item = Range<usize>>) {
        self.secrets.extend(spans);
    }

    /// Line and column of a byte.
    #[must_use]
    pub fn place(&self, offset: usize) -> Place {
        let (start, _) = self.ends_of_line(offset);
        let offset = self.on_a_character(offset);
        Place {
            line: self.line_number(offset),
            column: self.text[start..offset].chars().count() + 1,
        }
    }

    /// A byte's whole line, without its line break.
    #[must_use]
    pub fn line_of(&self, offset: usize) -> Range<usize> {
        let (start, end) = self.ends_of_line(offset);
        start..end
    }

    /// The nearest offset at or before this one that is inside the text and on
    /// a character's first byte.
    fn on_a_character(&self, offset: usize) -> usize {
        self.text.floor_char_boundary(offset)
    }

    /// First byte and end (before the line break) of a byte's line. Looks no
    /// further than the line, so it may be asked often.
    fn ends_of_line(&self, offset: usize) -> (usize, usize) {
        let offset = self.on_a_character(offset);
        let start = self.text[..offset].rfind('\n').map_or(0, |at| at + 1);
        let end = self.text[offset..].find('\n');
        let end = end.map_or(self.text.len(), |at| offset + at);
        let line = &self.text[start..end];
        // A caret at the line's end may stand on the carriage return itself.
        let end = start + line.strip_suffix('\r').unwrap_or(line).len();
        (start, end.max(offset))
    }

    /// The number of the line, from 1.
    fn line_number(&self, offset: usize) -> usize {
        self.text[..self.on_a_character(offset)]
            .matches('\n')
            .count()
            + 1
    }

    /// The line of `span` with the caret under it, secrets hidden.
    fn write_excerpt(&self, f: &mut fmt::Formatter<'_>, span: &Range<usize>) -> fmt::Result {
        let number = self.line_number(span.start);
        let (start, end) = self.ends_of_line(span.start);
        let line = &self.text[start..end];
        let mut hidden = self
            .known
            .map_or_else(Vec::new, |known| mask::hidden_in(line, known));
        for secret in &self.secrets {
            if secret.start < end && secret.end > start {
                let from = secret.start.max(start) - start;
                hidden.push(from..secret.end.min(end) - start);
            }
        }
        let shown = mask::Shown::new(line, &hidden);
        let caret_from = shown.column_of(span.start.saturating_sub(start));
        let caret_to = shown.column_of(span.end.min(end).saturating_sub(start));
        let (text, caret_from, caret_to) = cropped(&shown.text, caret_from, caret_to);
        writeln!(f, "{number:>6} | {text}")?;
        writeln!(
            f,
            "       | {:caret_from$}{}",
            "",
            "^".repeat(caret_to.saturating_sub(caret_from).max(1))
        )
    }
}

/// A long line cut down around its caret.
fn cropped(text: &str, caret_from: usize, caret_to: usize) -> (String, usize, usize) {
    let width = text.chars().count();
    if width <= WIDEST_LINE {
        return (text.to_owned(), caret_from, caret_to);
    }
    let first = caret_from.saturating_sub(WIDEST_LINE / 2);
    let mut cut: String = text.chars().skip(first).take(WIDEST_LINE).collect();
    if first + WIDEST_LINE < width {
        cut.push('…');
    }
    // With an ellipsis in front everything moves one to the right.
    let lead = usize::from(first > 0);
    if lead == 1 {
        cut.insert(0, '…');
    }
    let moved = |column: usize| (column - first).min(WIDEST_LINE) + lead;
    (cut, moved(caret_from), moved(caret_to.max(caret_from)))
}

/// Everything found in one file, in the order of the file.
#[derive(Debug)]
pub struct Report {
    // Boxed: a report is mostly an error's cargo, and errors travel by value.
    source: Box<Source>,
    diagnostics: Vec<Diagnostic>,
}

impl Report {
    /// The findings about one text.
    #[must_use]
    pub fn new(source: Source, mut diagnostics: Vec<Diagnostic>) -> Self {
        diagnostics.sort_by_key(|found| (found.span.start, found.span.end));
        Self {
            source: Box::new(source),
            diagnostics,
        }
    }

    /// Adds one that was found later.
    pub fn add(&mut self, found: Diagnostic) {
        let after = |other: &Diagnostic| other.span.start <= found.span.start;
        let at = self.diagnostics.partition_point(after);
        self.diagnostics.insert(at, found);
    }

    /// The findings, in the order of the file.
    #[must_use]
    pub fn diagnostics(&self) -> &[Diagnostic] {
        &self.diagnostics
    }

    /// Where a finding is.
    #[must_use]
    pub fn place(&self, of: &Diagnostic) -> Place {
        self.source.place(of.span.start)
    }

    /// How many make the file unusable.
    #[must_use]
    pub fn mistakes(&self) -> usize {
        self.diagnostics
            .iter()
            .filter(|found| found.severity == Severity::Mistake)
            .count()
    }

    /// There is nothing to show.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.diagnostics.is_empty()
    }

    fn write_one(&self, f: &mut fmt::Formatter<'_>, found: &Diagnostic) -> fmt::Result {
        let place = self.place(found);
        let kind = match found.severity {
            Severity::Mistake => "",
            Severity::Warning => "warning: ",
        };
        writeln!(
            f,
            "{}:{}:{}: {kind}{}",
            self.source.name, place.line, place.column, found.message
        )?;
        self.source.write_excerpt(f, &found.span)?;
        if let Some(also) = &found.also {
            writeln!(f, "         {}:", also.text)?;
            self.source.write_excerpt(f, &also.span)?;
        }
        writeln!(f, "         fix: {}\n", found.fix)
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for found in self.diagnostics.iter().take(MOST_SHOWN) {
            self.write_one(f, found)?;
        }
        if let Some(more) = self.diagnostics.len().checked_sub(MOST_SHOWN + 1) {
            writeln!(f, "and {} more\n", more + 1)?;
        }
        match (self.mistakes(), self.diagnostics.len()) {
            (_, 0) => writeln!(f, "{}: fine", self.source.name),
            (0, 1) => writeln!(f, "{}: 1 warning", self.source.name),
            (0, n) => writeln!(f, "{}: {n} warnings", self.source.name),
            (1, _) => writeln!(f, "{}: 1 mistake", self.source.name),
            (n, _) => writeln!(f, "{}: {n} mistakes", self.source.name),
        }
    }
}

#[cfg(test)]
mod tests;
