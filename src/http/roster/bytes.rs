//! A still or a clip on its way to a browser.
//!
//! Not here: whether it may be seen.

use afterturn_core::consent::Medium;
use warp::{
    http::{HeaderValue, header},
    reply::{Reply, Response},
};

/// A still or a clip as a browser asks for it: whole, or a stretch of its bytes
/// (RFC 9110 §14).
pub(super) fn media(medium: Medium, bytes: &[u8], range: Option<&str>) -> Response {
    let kind = match medium {
        Medium::Still => "image/jpeg",
        Medium::Clip => "video/mp4",
    };
    let stretch = range.and_then(|range| stretch(range, bytes.len()));
    let mut response = match stretch {
        Some((from, to)) => {
            let part = bytes[from..=to].to_vec();
            let part = warp::reply::with_status(part, warp::http::StatusCode::PARTIAL_CONTENT);
            part.into_response()
        }
        None => bytes.to_vec().into_response(),
    };
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(header::ACCEPT_RANGES, HeaderValue::from_static("bytes"));
    if let Some((from, to)) = stretch
        && let Ok(said) = HeaderValue::from_str(&format!("bytes {from}-{to}/{}", bytes.len()))
    {
        headers.insert(header::CONTENT_RANGE, said);
    }
    response
}

/// The one stretch a browser asks for; none where it asks for something else,
/// and is then sent everything (RFC 9110 §14.2).
fn stretch(range: &str, length: usize) -> Option<(usize, usize)> {
    let (from, to) = range.strip_prefix("bytes=")?.split_once('-')?;
    let last = length.checked_sub(1)?;
    let (from, to) = match (from.trim(), to.trim()) {
        ("", tail) => (length.saturating_sub(tail.parse().ok()?), last),
        (from, "") => (from.parse().ok()?, last),
        (from, to) => (from.parse().ok()?, to.parse::<usize>().ok()?.min(last)),
    };
    (from <= to).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::stretch;

    #[test]
    fn a_stretch_of_bytes_is_read_as_rfc_9110_has_it() {
        // RFC 9110 §14.1.2: first and last position, the first alone, and the
        // last so many bytes.
        assert_eq!(stretch("bytes=0-499", 10_000), Some((0, 499)));
        assert_eq!(stretch("bytes=9500-", 10_000), Some((9500, 9999)));
        assert_eq!(stretch("bytes=-500", 10_000), Some((9500, 9999)));
        assert_eq!(stretch("bytes=0-0", 1), Some((0, 0)));
        assert_eq!(stretch("bytes=0-99999", 10), Some((0, 9)));
        for other in [
            "bytes=5-2",
            "bytes=20-30",
            "bytes=a-b",
            "lines=1-2",
            "bytes=0-1,4-5",
        ] {
            assert_eq!(stretch(other, 10), None, "{other}");
        }
        assert_eq!(stretch("bytes=0-", 0), None);
    }
}
