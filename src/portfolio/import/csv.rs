//! Comma-separated values as in RFC 4180, and as programs write them: with
//! semicolons or tabs, either kind of line end, and blank lines.

use std::iter::Peekable;

use super::{
    Issue, What,
    budget::{MOST_COLUMNS, MOST_FIELD_SIGNS, MOST_ROWS},
    text::{Signs, Text},
};

/// A row and where it begins.
pub(super) struct Row {
    pub(super) line: u32,
    pub(super) cells: Vec<String>,
}

/// Rows one after another, each made when it is asked for: what is too many or
/// too long is stopped there, not held and then counted.
struct Rows<'t> {
    file: &'static str,
    signs: Peekable<Signs<'t>>,
    comma: char,
    line: u32,
    /// How many there were that are not blank.
    count: usize,
    is_over: bool,
}

/// A row while it is read.
#[derive(Default)]
struct Unfinished {
    cells: Vec<String>,
    cell: String,
    cell_signs: usize,
    quoted: bool,
    was_quoted: bool,
}

impl Unfinished {
    fn push(&mut self, sign: char) -> Result<(), What> {
        self.cell.push(sign);
        self.cell_signs += 1;
        let long = self.cell_signs > MOST_FIELD_SIGNS;
        if long { Err(What::LongField) } else { Ok(()) }
    }

    fn end_cell(&mut self) -> Result<(), What> {
        if self.cells.len() == MOST_COLUMNS {
            return Err(What::ManyColumns);
        }
        self.cells.push(std::mem::take(&mut self.cell));
        (self.cell_signs, self.was_quoted) = (0, false);
        Ok(())
    }
}

impl<'t> Rows<'t> {
    fn new(file: &'static str, text: &'t Text<'t>) -> Self {
        let heading = || text.signs().take_while(|sign| !matches!(sign, '\n' | '\r'));
        let often = |wanted: char| heading().filter(|sign| *sign == wanted).count();
        let comma = [',', ';', '\t']
            .into_iter()
            .max_by_key(|sign| (often(*sign), *sign == ','))
            .unwrap_or(',');
        Self {
            file,
            signs: text.signs().peekable(),
            comma,
            line: 1,
            count: 0,
            is_over: false,
        }
    }

    /// Reads on to the end of a row.
    fn row(&mut self) -> Result<Row, Issue> {
        let begun = self.line;
        let mut row = Unfinished::default();
        let read = self.cells(&mut row);
        // Where a quotation mark is left open it is told where it was opened.
        let line = if row.quoted { begun } else { self.line };
        match read {
            Ok(()) => Ok(Row {
                line: begun,
                cells: row.cells,
            }),
            Err(what) => Err(Issue {
                file: self.file,
                line,
                column: Some(row.cells.len() as u32 + 1),
                title: None,
                what,
            }),
        }
    }

    fn cells(&mut self, row: &mut Unfinished) -> Result<(), What> {
        while let Some(sign) = self.signs.next() {
            match sign {
                '"' if row.quoted && self.signs.peek() == Some(&'"') => {
                    self.signs.next();
                    row.push('"')?;
                }
                '"' if row.quoted => row.quoted = false,
                _ if row.quoted => {
                    self.line += u32::from(sign == '\n');
                    row.push(sign)?;
                }
                '"' if row.cell.trim().is_empty() && !row.was_quoted => {
                    row.cell.clear();
                    (row.quoted, row.was_quoted) = (true, true);
                }
                '\r' if self.signs.peek() == Some(&'\n') => {}
                '\n' | '\r' => {
                    row.end_cell()?;
                    self.line += 1;
                    return Ok(());
                }
                _ if sign == self.comma => row.end_cell()?,
                _ if row.was_quoted && !sign.is_whitespace() => return Err(What::Quotes),
                _ => row.push(sign)?,
            }
        }
        self.is_over = true;
        if row.quoted {
            return Err(What::Quotes);
        }
        row.end_cell()
    }
}

/// Blank ones are left out; after an issue there are no more.
impl Iterator for Rows<'_> {
    type Item = Result<Row, Issue>;

    fn next(&mut self) -> Option<Self::Item> {
        while !self.is_over {
            let row = self.row();
            self.is_over |= row.is_err();
            let blank = |row: &Row| row.cells.iter().all(|cell| cell.trim().is_empty());
            if row.as_ref().is_ok_and(blank) {
                continue;
            }
            self.count += 1;
            if let Ok(row) = &row
                && self.count > MOST_ROWS
            {
                self.is_over = true;
                return Some(Err(Issue {
                    file: self.file,
                    line: row.line,
                    column: None,
                    title: None,
                    what: What::ManyRows,
                }));
            }
            return Some(row);
        }
        None
    }
}

/// A table: its columns by their names in the first row.
pub(super) struct Table<'t> {
    file: &'static str,
    columns: Vec<Option<&'static str>>,
    rows: Rows<'t>,
}

impl<'t> Table<'t> {
    /// Reads one. `known` says what a heading means; columns it does not know
    /// are passed over.
    pub(super) fn read(
        file: &'static str,
        text: &'t Text<'t>,
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
        let mut rows = Rows::new(file, text);
        let headings = match rows.next() {
            Some(row) => row.map_err(|issue| vec![issue])?,
            None => return Err(whole(What::Empty, None)),
        };
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

    /// The next row below the headings.
    pub(super) fn next_row(&mut self) -> Option<Result<Row, Issue>> {
        self.rows.next()
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

    fn read(text: &str) -> Result<Vec<(u32, Vec<String>)>, Issue> {
        let text = Text::read(text.as_bytes()).expect("a text");
        let rows = Rows::new("", &text);
        rows.map(|row| row.map(|row| (row.line, row.cells)))
            .collect()
    }

    fn cells(text: &str) -> Vec<(u32, Vec<String>)> {
        read(text).expect("rows")
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
            let issue = read(text).expect_err("an issue");
            let place = (issue.line, issue.column, issue.what);
            assert_eq!(place, (line, Some(column), What::Quotes));
        }
    }

    #[test]
    fn a_table_is_stopped_at_the_row_the_column_and_the_sign_that_are_too_many() {
        let rows = "a,b\n".repeat(MOST_ROWS);
        let columns = ",".repeat(MOST_COLUMNS - 1);
        let field = "x".repeat(MOST_FIELD_SIGNS);
        for fits in [rows.clone(), columns.clone(), field.clone()] {
            assert!(read(&fits).is_ok());
        }
        let (row, column) = (MOST_ROWS as u32 + 1, MOST_COLUMNS as u32 + 1);
        for (text, place) in [
            (rows + "a,b\n", (row, None, What::ManyRows)),
            (columns + ",", (1, Some(column), What::ManyColumns)),
            (format!("a,{field}x"), (1, Some(2), What::LongField)),
            (format!("a\n\"{field}x\""), (2, Some(1), What::LongField)),
        ] {
            let issue = read(&text).expect_err("more than is read");
            assert_eq!((issue.line, issue.column, issue.what), place);
        }
    }

    #[test]
    fn nothing_is_read_beyond_what_is_too_many() {
        // The rest is not even well formed.
        let text = ",".repeat(MOST_COLUMNS + 1) + "\n\"";
        let text = Text::read(text.as_bytes()).expect("a text");
        let mut rows = Rows::new("", &text);
        let first = rows.next().expect("an issue");
        assert_eq!(first.err().map(|issue| issue.what), Some(What::ManyColumns));
        assert!(rows.next().is_none());
    }
}
