//! Forms with files (RFC 7578), taken apart.
//!
//! Not here: forms without (`form_urlencoded` reads those).

/// One part of a form.
pub(super) struct Part<'b> {
    pub(super) name: String,
    /// What the file is called, if it is one.
    pub(super) file: Option<String>,
    pub(super) bytes: &'b [u8],
}

/// More than any form of ours has.
const MOST_PARTS: usize = 1000;

/// The boundary that a content type names (RFC 2046 §5.1.1).
pub(super) fn boundary(content_type: &str) -> Option<&str> {
    let (kind, rest) = content_type.split_once(';')?;
    if !kind.trim().eq_ignore_ascii_case("multipart/form-data") {
        return None;
    }
    let found = rest.split(';').find_map(|part| {
        let (name, value) = part.trim().split_once('=')?;
        name.eq_ignore_ascii_case("boundary").then_some(value)
    });
    found
        .map(|value| value.trim_matches('"'))
        .filter(|value| !value.is_empty() && value.len() <= 70)
}

/// The parts of a body; none if it is not what it says.
pub(super) fn read<'b>(body: &'b [u8], boundary: &str) -> Option<Vec<Part<'b>>> {
    let line = format!("\r\n--{boundary}");
    let line = line.as_bytes();
    // The first has no line end before it.
    let mut rest = body.strip_prefix(&line[2..])?;
    let mut parts = Vec::new();
    while !rest.starts_with(b"--") {
        rest = rest.strip_prefix(b"\r\n")?;
        let head_end = find(rest, b"\r\n\r\n")?;
        let head = std::str::from_utf8(&rest[..head_end]).ok()?;
        let content = &rest[head_end + 4..];
        let end = find(content, line)?;
        let (name, file) = disposition(head)?;
        parts.push(Part {
            name,
            file,
            bytes: &content[..end],
        });
        if parts.len() > MOST_PARTS {
            return None;
        }
        rest = &content[end + line.len()..];
    }
    Some(parts)
}

fn disposition(head: &str) -> Option<(String, Option<String>)> {
    let line = head.lines().find(|line| {
        let name = line.split(':').next().unwrap_or_default();
        name.eq_ignore_ascii_case("content-disposition")
    })?;
    let value = |wanted: &str| {
        let begins = format!("{wanted}=\"");
        let at = line
            .match_indices(&begins)
            .map(|(at, _)| at)
            .find(|at| line[..*at].ends_with([' ', ';']))?;
        let text = &line[at + begins.len()..];
        // Browsers write a quotation mark as %22 (HTML, multipart form data).
        Some(text[..text.find('"')?].replace("%22", "\""))
    };
    Some((value("name")?, value("filename")))
}

fn find(bytes: &[u8], part: &[u8]) -> Option<usize> {
    // Large files: look for the first byte first.
    let mut from = 0;
    while let Some(at) = bytes[from..].iter().position(|byte| *byte == part[0]) {
        if bytes[from + at..].starts_with(part) {
            return Some(from + at);
        }
        from += at + 1;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_with_a_file_is_taken_apart() {
        let body = b"--xYz\r\nContent-Disposition: form-data; name=\"do\"\r\n\r\nread\r\n\
            --xYz\r\nContent-Disposition: form-data; name=\"list\"; filename=\"users.csv\"\r\n\
            Content-Type: text/csv\r\n\r\na,b\r\n--x\r\n1,2\r\n\r\n--xYz--\r\n";
        let kind = "multipart/form-data; boundary=xYz";
        let parts = read(body, boundary(kind).unwrap()).unwrap();
        let seen: Vec<_> = parts
            .iter()
            .map(|p| (p.name.as_str(), p.file.as_deref(), p.bytes))
            .collect();
        let expected: [(&str, Option<&str>, &[u8]); 2] = [
            ("do", None, b"read"),
            ("list", Some("users.csv"), b"a,b\r\n--x\r\n1,2\r\n"),
        ];
        assert_eq!(seen, expected);
        for end in 0..body.len() - 4 {
            assert!(read(&body[..end], "xYz").is_none(), "cut at {end}");
        }
        assert_eq!(boundary("application/x-www-form-urlencoded"), None);
        assert_eq!(boundary("multipart/form-data"), None);
    }
}
