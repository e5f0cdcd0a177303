//! Comma-separated values as in RFC 4180, and as programs write them: with
//! semicolons or tabs, either kind of line end, and blank lines.

use super::{Issue, What};

/// A row and where it begins.
pub(super) struct Row {
    pub(super) line: u32,
    pub(super) cells: Vec<String>,
}

/// The most rows anybody has: a district's enrolments.
const MOST_ROWS: usize = 200_000;

/// Reads rows; blank ones are left out.
pub(super) fn read(file: &'static str, text: &str) -> Result<Vec<Row>, Issue> {
    let first = text.lines().next().unwrap_or_default();
    let often = |sign: char| first.chars().filter(|c| *c == sign).count();
    let comma = [',', ';', '\t']
        .into_iter()
        .max_by_key(|sign| (often(*sign), *sign == ','))
        .unwrap_or(',');
    let mut rows = Vec::new();
    let (mut row, mut cell) = (Vec::new(), String::new());
    let (mut line, mut begun) = (1, 1);
    let (mut quoted, mut was_quoted) = (false, false);
    let mut signs = text.chars().peekable();
    let trouble = |line, column: usize, what| Issue {
        file,
        line,
        column: Some(column as u32 + 1),
        title: None,
        what,
    };
    while let Some(sign) = signs.next() {
        match sign {
            '"' if quoted && signs.peek() == Some(&'"') => {
                signs.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            _ if quoted => {
                line += u32::from(sign == '\n');
                cell.push(sign);
            }
            '"' if cell.trim().is_empty() && !was_quoted => {
                cell.clear();
                (quoted, was_quoted) = (true, true);
            }
            '\r' if signs.peek() == Some(&'\n') => {}
            '\n' | '\r' => {
                row.push(std::mem::take(&mut cell));
                end_row(&mut rows, &mut row, begun);
                line += 1;
                (begun, was_quoted) = (line, false);
                if rows.len() > MOST_ROWS {
                    return Err(trouble(line, 0, What::TooMuch));
                }
            }
            _ if sign == comma => {
                row.push(std::mem::take(&mut cell));
                was_quoted = false;
            }
            _ if was_quoted && !sign.is_whitespace() => {
                return Err(trouble(line, row.len(), What::Quotes));
            }
            _ => cell.push(sign),
        }
    }
    if quoted {
        return Err(trouble(begun, row.len(), What::Quotes));
    }
    row.push(cell);
    end_row(&mut rows, &mut row, begun);
    Ok(rows)
}

fn end_row(rows: &mut Vec<Row>, row: &mut Vec<String>, line: u32) {
    let cells = std::mem::take(row);
    if cells.iter().any(|cell| !cell.trim().is_empty()) {
        rows.push(Row { line, cells });
    }
}

/// A table: its columns by their names in the first row.
pub(super) struct Table {
    pub(super) file: &'static str,
    columns: Vec<Option<&'static str>>,
    pub(super) rows: Vec<Row>,
}

impl Table {
    /// Reads one. `known` says what a heading means; columns it does not know
    /// are passed over.
    pub(super) fn read(
        file: &'static str,
        bytes: &[u8],
        known: impl Fn(&str) -> Option<&'static str>,
        needed: &[&'static str],
    ) -> Result<Self, Vec<Issue>> {
        let whole = |what, title| {
            vec![Issue {
                file,
                line: 1,
                column: None,
                title,
                what,
            }]
        };
        let text = super::text::read(bytes).map_err(|what| whole(what, None))?;
        let mut rows = read(file, &text).map_err(|issue| vec![issue])?;
        if rows.is_empty() {
            return Err(whole(What::Empty, None));
        }
        let headings = rows.remove(0);
        let columns: Vec<_> = headings.cells.iter().map(|c| known(c.trim())).collect();
        let mut issues = Vec::new();
        for title in needed {
            if !columns.contains(&Some(title)) {
                issues.extend(whole(What::NoColumn, Some(title)));
            }
        }
        for (at, title) in columns.iter().enumerate() {
            if title.is_some() && columns[..at].contains(title) {
                issues.push(Issue {
                    file,
                    line: headings.line,
                    column: Some(at as u32 + 1),
                    title: *title,
                    what: What::ColumnTwice,
                });
            }
        }
        if issues.is_empty() {
            Ok(Self {
                file,
                columns,
                rows,
            })
        } else {
            Err(issues)
        }
    }

    /// A cell by its column, tidied; empty where there is none.
    pub(super) fn cell<'r>(&self, row: &'r Row, title: &str) -> &'r str {
        let at = self.columns.iter().position(|c| *c == Some(title));
        at.and_then(|at| row.cells.get(at)).map_or("", |c| c.trim())
    }

    /// Something wrong with a cell, by its place alone.
    pub(super) fn issue(&self, row: &Row, title: &'static str, what: What) -> Issue {
        let at = self.columns.iter().position(|c| *c == Some(title));
        Issue {
            file: self.file,
            line: row.line,
            column: at.map(|at| at as u32 + 1),
            title: Some(title),
            what,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<(u32, Vec<String>)> {
        let rows = read("", text).expect("rows");
        rows.into_iter().map(|row| (row.line, row.cells)).collect()
    }

    fn row(line: u32, cells: &[&str]) -> (u32, Vec<String>) {
        (line, cells.iter().map(|&c| c.to_owned()).collect())
    }

    #[test]
    fn quotes_commas_and_line_ends_are_read() {
        // RFC 4180 §2, points 5 to 7.
        let text = "a,b\r\n\"x, y\",\"say \"\"hi\"\"\"\r\n\r\n\"two\nlines\",z";
        let expected = [
            row(1, &["a", "b"]),
            row(2, &["x, y", "say \"hi\""]),
            row(4, &["two\nlines", "z"]),
        ];
        assert_eq!(cells(text), expected);
        assert_eq!(
            cells("a;b,c;d\n1;2"),
            [row(1, &["a", "b,c", "d"]), row(2, &["1", "2"])]
        );
        assert_eq!(
            cells("a\tb\r1\t2\r"),
            [row(1, &["a", "b"]), row(2, &["1", "2"])]
        );
    }

    #[test]
    fn an_open_quotation_mark_is_found_where_it_begins() {
        for (text, line, column) in [("a,b\nx,\"y\nz", 2, 2), ("a,b\n\"x\"y,z", 2, 1)] {
            let issue = read("", text).err().expect("an issue");
            let place = (issue.line, issue.column, issue.what);
            assert_eq!(place, (line, Some(column), What::Quotes));
        }
    }
}
