//! What of a source line is hidden before anyone sees it.
//!
//! It works on a line alone, without a parsed tree, because the line may be
//! the very one that would not parse. So it goes by a list of keys whose values
//! may be shown and hides every other value: a misspelt `pasword` is safe. Its
//! limit: a password on a line of its own with `=` after it looks like a key.
//!
//! Not here: whether a line is right.

use std::ops::Range;

/// The keys of one kind of file.
#[derive(Clone, Copy, Debug)]
pub struct KnownKeys {
    /// Their values may be shown.
    pub open: &'static [&'static str],
    /// Their values never are.
    pub closed: &'static [&'static str],
}

impl KnownKeys {
    /// Keys that hold no secret.
    #[must_use]
    pub const fn open_only(open: &'static [&'static str]) -> Self {
        Self { open, closed: &[] }
    }

    fn is_open(self, key: &str) -> bool {
        self.open.contains(&key)
    }

    fn is_known(self, key: &str) -> bool {
        self.is_open(key) || self.closed.contains(&key)
    }
}

/// What stands where something is hidden; always as long, so that it does not
/// tell how long the secret is.
const DOTS: &str = "•••";

/// A line as it is shown.
pub struct Shown {
    /// Its text: secrets as dots, tabs and control characters as one column.
    pub text: String,
    column_of_byte: Vec<usize>,
}

impl Shown {
    /// `line` without the `hidden` stretches.
    #[must_use]
    pub fn new(line: &str, hidden: &[Range<usize>]) -> Self {
        let mut text = String::with_capacity(line.len());
        let mut column_of_byte = Vec::with_capacity(line.len() + 1);
        let mut column = 0;
        let mut dotted = false;
        for (at, letter) in line.char_indices() {
            if hidden.iter().any(|range| range.contains(&at)) {
                if !dotted {
                    text.push_str(DOTS);
                    column += DOTS.chars().count();
                }
                dotted = true;
                let first_dot = column - DOTS.chars().count();
                column_of_byte.extend(std::iter::repeat_n(first_dot, letter.len_utf8()));
                continue;
            }
            dotted = false;
            column_of_byte.extend(std::iter::repeat_n(column, letter.len_utf8()));
            text.push(match letter {
                '\t' => ' ',
                // A terminal would obey it.
                c if c.is_control() => '·',
                c => c,
            });
            column += 1;
        }
        column_of_byte.push(column);
        Self {
            text,
            column_of_byte,
        }
    }

    /// The column, from 0, at which a byte of the original line is shown.
    #[must_use]
    pub fn column_of(&self, byte: usize) -> usize {
        let last = self.column_of_byte.len() - 1;
        self.column_of_byte[byte.min(last)]
    }
}

/// The stretches of a line that must not be shown.
#[must_use]
pub fn hidden_in(line: &str, known: KnownKeys) -> Vec<Range<usize>> {
    if let Some(hidden) = without_a_pair(line, known) {
        return hidden;
    }
    let mut walk = Walk {
        line,
        known,
        at: 0,
        value_is_open: None,
        last_word: "",
        words: 0,
        text_ended: false,
        nesting: Vec::new(),
        hidden: Vec::new(),
    };
    while walk.at < line.len() {
        walk.step();
    }
    walk.hidden
}

/// A line that has no `=`: a header, a comment, the middle of something. The
/// middle of a long text may be a password, so only a header and a key that is
/// known are shown.
fn without_a_pair(line: &str, known: KnownKeys) -> Option<Vec<Range<usize>>> {
    if line.contains('=') {
        return None;
    }
    let start = line.len() - line.trim_start().len();
    let text = &line[start..];
    let header = text.starts_with('[')
        && text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || "[]._- \t".contains(c));
    if header || text.is_empty() {
        return Some(Vec::new());
    }
    let word = text.split(is_delimiter).next().unwrap_or("");
    if known.is_open(word) && !text.contains(['@', '#']) && !text.contains("://") {
        return Some(Vec::new());
    }
    let shown = if known.is_known(word) { word.len() } else { 0 };
    Some(std::iter::once(start + shown..line.len()).collect())
}

fn is_delimiter(letter: char) -> bool {
    letter.is_whitespace() || "=,#\"'{}[]:".contains(letter)
}

/// One pass over a line.
struct Walk<'l> {
    line: &'l str,
    known: KnownKeys,
    at: usize,
    /// `None` where a key stands; otherwise whether the value may be shown.
    value_is_open: Option<bool>,
    last_word: &'l str,
    /// Words since the place where a key may stand.
    words: usize,
    /// A text in a value that may be shown has just ended.
    text_ended: bool,
    nesting: Vec<char>,
    hidden: Vec<Range<usize>>,
}

impl Walk<'_> {
    fn step(&mut self) {
        let Some(letter) = self.line[self.at..].chars().next() else {
            return;
        };
        if self.text_ended && !letter.is_whitespace() {
            self.text_ended = false;
            if !",]}#".contains(letter) {
                // A quotation mark is missing somewhere before: what is inside
                // and what is outside of a text, nobody can tell.
                return self.hide_rest(self.at);
            }
        }
        match letter {
            '#' => self.hide_rest(self.at + 1),
            '"' | '\'' => self.text(letter),
            '=' => {
                self.value_is_open = Some(self.known.is_open(self.last_word));
                self.at += 1;
            }
            // A table cannot begin or go on where a key has begun, and what is
            // inside one that is not open stays closed.
            '{' | ',' if self.value_is_open.is_none() && self.words > 0 => {
                self.hide_rest(self.at);
            }
            '{' if self.value_is_open == Some(false) => self.hide_rest(self.at),
            ',' => {
                if self.nesting.last() == Some(&'{') {
                    self.key_follows();
                }
                self.at += 1;
            }
            '{' => {
                self.nesting.push(letter);
                self.key_follows();
                self.at += 1;
            }
            '[' => {
                self.nesting.push(letter);
                self.at += 1;
            }
            '}' | ']' => {
                self.nesting.pop();
                self.at += 1;
            }
            c if c.is_whitespace() => self.at += c.len_utf8(),
            _ => self.word(),
        }
    }

    fn key_follows(&mut self) {
        self.value_is_open = None;
        self.last_word = "";
        self.words = 0;
    }

    fn hide_rest(&mut self, from: usize) {
        self.hidden.push(from..self.line.len());
        self.at = self.line.len();
    }

    /// A text in quotation marks, closed or not.
    fn text(&mut self, quote: char) {
        let rest = &self.line[self.at + 1..];
        let tripled = rest.starts_with([quote]) && rest[1..].starts_with(quote);
        let end = if tripled { None } else { closing(rest, quote) };
        let inner = self.at + 1..end.map_or(self.line.len(), |end| self.at + 1 + end);
        // The start of a text of several lines tells little and may hold anything.
        if self.value_is_open == Some(true) && !tripled {
            hide_in_address(self.line, inner.clone(), &mut self.hidden);
            self.text_ended = true;
        } else {
            self.hidden.push(inner.clone());
            self.last_word = "";
            // After a quoted key no word is a key.
            self.words += 1;
        }
        self.at = (inner.end + 1).min(self.line.len());
    }

    fn word(&mut self) {
        let rest = &self.line[self.at..];
        let stop = |c: char| is_delimiter(c) && c != ':';
        let length = rest.find(stop).unwrap_or(rest.len());
        let word = &rest[..length];
        match self.value_is_open {
            // Where an unquoted secret ends, nobody can tell.
            Some(false) => return self.hide_rest(self.at),
            None => {
                self.words += 1;
                let then = rest[length..].trim_start();
                let ends_as_key = then.is_empty() || then.starts_with(['=', ']', '#']);
                if self.words > 1 || !ends_as_key {
                    return self.hide_rest(self.at);
                }
            }
            Some(true) => {
                if rest.contains('@') || rest.contains("://") {
                    hide_in_address(self.line, self.at..self.line.len(), &mut self.hidden);
                    self.at = self.line.len();
                    return;
                }
            }
        }
        self.last_word = word.rsplit('.').next().unwrap_or(word);
        self.at += length;
    }
}

/// Where a text ends, in bytes; `None` if it does not on this line.
fn closing(rest: &str, quote: char) -> Option<usize> {
    let mut escaped = false;
    rest.char_indices().find_map(|(at, letter)| {
        if escaped {
            escaped = false;
        } else if letter == '\\' && quote == '"' {
            escaped = true;
        } else if letter == quote {
            return Some(at);
        }
        None
    })
}

/// Hides what an address can carry beside host, port and path: a name and a
/// password in front, and a tail of parameters (cameras take passwords there).
fn hide_in_address(line: &str, range: Range<usize>, hidden: &mut Vec<Range<usize>>) {
    let text = &line[range.clone()];
    let scheme = text.find("://").map(|at| at + 3);
    let begin = scheme.unwrap_or(0);
    let at_sign = text.rfind('@').filter(|at| *at >= begin);
    if let Some(at) = at_sign {
        hidden.push(range.start + begin..range.start + at);
    }
    if scheme.is_none() {
        return;
    }
    let host_from = at_sign.map_or(begin, |at| at + 1);
    let host = text[host_from..]
        .split(['/', '?', '#'])
        .next()
        .unwrap_or("");
    let port_is_odd = !host.ends_with(']')
        && host
            .rsplit_once(':')
            .is_some_and(|(_, port)| port.chars().any(|c| !c.is_ascii_digit()));
    let tail = if port_is_odd {
        Some(host_from)
    } else {
        text[host_from..]
            .find(['?', '#', '=', '&', ';'])
            .map(|at| host_from + at)
    };
    if let Some(tail) = tail.filter(|tail| *tail < text.len()) {
        hidden.push(range.start + tail..range.end);
    }
}

#[cfg(test)]
mod tests;
