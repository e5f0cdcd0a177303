//! A page's script and all it stands on as one file: fetching fifty of them one
//! by one cost a TV more time than everything else before its first picture.
//!
//! Each module becomes a function that is called once, in the order in which they
//! need each other; what one imports is taken by name from what the other gave
//! back. This knows our own way of writing modules and refuses any other: imports
//! and exports stand at the start of a line and go by name, what is exported is
//! never assigned anew, and nobody needs himself through others.
//!
//! Not here: shortening, or any understanding of the lines between.

use std::fmt::Write as _;

/// Why a script is not put together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(super) enum BundleError {
    #[error("there is no {0}")]
    NoSuch(String),
    #[error("{path}, line {line}: imports and exports go by name; export no `let`")]
    Form { path: String, line: usize },
    #[error("{0} needs itself through others")]
    Circle(String),
}

/// Puts the module at `entry` and all it needs into one script; `read` gives the
/// text at a path.
pub(super) fn bundle(
    entry: &str,
    read: &dyn Fn(&str) -> Option<String>,
) -> Result<String, BundleError> {
    let mut bundle = Bundle {
        read,
        begun: Vec::new(),
        made: Vec::new(),
        text: String::new(),
    };
    bundle.add(entry)?;
    Ok(bundle.text)
}

struct Bundle<'r> {
    read: &'r dyn Fn(&str) -> Option<String>,
    /// Those that wait for what they need.
    begun: Vec<String>,
    /// Those that are in the text; a module's number is its place here.
    made: Vec<String>,
    text: String,
}

impl Bundle<'_> {
    /// A module's number, once it and all it needs are in the text.
    fn add(&mut self, path: &str) -> Result<usize, BundleError> {
        if let Some(number) = self.made.iter().position(|made| made == path) {
            return Ok(number);
        }
        if self.begun.iter().any(|begun| begun == path) {
            return Err(BundleError::Circle(path.to_owned()));
        }
        let source = (self.read)(path).ok_or_else(|| BundleError::NoSuch(path.to_owned()))?;
        self.begun.push(path.to_owned());
        let body = self.body(path, &source)?;
        self.begun.pop();
        let number = self.made.len();
        self.made.push(path.to_owned());
        let _ = writeln!(
            self.text,
            "const module_{number} = (() => {{ // {path}\n{body}}})();"
        );
        Ok(number)
    }

    /// A module as what stands in a function.
    fn body(&mut self, path: &str, source: &str) -> Result<String, BundleError> {
        let mut body = String::with_capacity(source.len());
        let mut exported = Vec::new();
        let mut lines = source.lines().enumerate();
        while let Some((at, line)) = lines.next() {
            let wrong = || BundleError::Form {
                path: path.to_owned(),
                line: at + 1,
            };
            if line.starts_with("import ") {
                let mut whole = line.to_owned();
                while !whole.ends_with(';') {
                    let (_, more) = lines.next().ok_or_else(wrong)?;
                    whole.push_str(more);
                }
                let (names, from) = import(&whole).ok_or_else(wrong)?;
                let number = self.add(&beside(path, from).ok_or_else(wrong)?)?;
                let _ = writeln!(body, "const {{{names}}} = module_{number};");
            } else if let Some(rest) = line.strip_prefix("export ") {
                match export(rest).ok_or_else(wrong)? {
                    Export::Declared(name) => {
                        exported.push(name);
                        body.push_str(rest);
                        body.push('\n');
                    }
                    Export::Listed(names) => exported.extend(names),
                }
            } else {
                body.push_str(line);
                body.push('\n');
            }
        }
        let _ = writeln!(body, "return {{ {} }};", exported.join(", "));
        Ok(body)
    }
}

/// What an import takes, written as a pattern, and whose it is.
fn import(statement: &str) -> Option<(String, &str)> {
    let (names, from) = statement
        .strip_prefix("import {")?
        .strip_suffix("';")?
        .split_once("} from '")?;
    Some((names.replace(" as ", ": "), from))
}

enum Export<'s> {
    Declared(&'s str),
    Listed(Vec<&'s str>),
}

fn export(rest: &str) -> Option<Export<'_>> {
    if let Some(names) = rest.strip_prefix('{') {
        let names = names.strip_suffix("};")?;
        let names: Vec<_> = names.split(',').map(str::trim).collect();
        return names
            .iter()
            .all(|name| is_name(name))
            .then_some(Export::Listed(names));
    }
    let rest = rest.strip_prefix("async ").unwrap_or(rest);
    let declared = ["const ", "function ", "class "]
        .into_iter()
        .find_map(|word| rest.strip_prefix(word))?;
    let end = declared
        .find(|c: char| !is_in_a_name(c))
        .unwrap_or(declared.len());
    let name = &declared[..end];
    is_name(name).then_some(Export::Declared(name))
}

fn is_name(text: &str) -> bool {
    !text.is_empty() && text.chars().all(is_in_a_name)
}

const fn is_in_a_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '_' | '$')
}

/// The path of what is named so from a module at `path`.
fn beside(path: &str, from: &str) -> Option<String> {
    let mut parts: Vec<&str> = path.split('/').collect();
    parts.pop();
    for part in from.split('/') {
        match part {
            "." => {}
            ".." => {
                parts.pop()?;
            }
            _ => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

#[cfg(test)]
#[path = "tests/bundle.rs"]
mod tests;
