//! Scripts and styles, compiled into the binary.
//!
//! Not here: pages, which are templates.

use rust_embed::RustEmbed;
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

use super::{Kind, Problem};

#[derive(RustEmbed)]
#[folder = "web/"]
#[include = "live/*.js"]
#[include = "figures/*.js"]
#[include = "style/*.css"]
#[include = "words/*.ftl"]
#[include = "words/vault/*.ftl"]
#[include = "pages/*.html"]
struct Web;

/// A mark of everything a page is made of.
pub(super) fn marks() -> Vec<[u8; 32]> {
    let mut paths: Vec<_> = Web::iter().collect();
    paths.sort_unstable();
    paths
        .iter()
        .filter_map(|path| Web::get(path))
        .map(|file| file.metadata.sha256_hash())
        .collect()
}

/// A file under `/assets/`, unless the browser has it already.
pub(super) fn get(path: &str, have: Option<&str>) -> Result<Response, Problem> {
    let kind = match path.rsplit_once('.').map(|(_, extension)| extension) {
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        _ => return Err(missing()),
    };
    if path.split('/').any(|part| part == "..") {
        return Err(missing());
    }
    let file = Web::get(path).ok_or_else(missing)?;
    let hash = file.metadata.sha256_hash();
    let tag = format!(
        "\"{:016x}\"",
        u64::from_be_bytes(std::array::from_fn(|i| hash[i]))
    );
    let mut response = if have == Some(tag.as_str()) {
        StatusCode::NOT_MODIFIED.into_response()
    } else {
        file.data.into_owned().into_response()
    };
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-cache"));
    let tag = HeaderValue::from_str(&tag).expect("hex digits in quotes are a header value");
    headers.insert(header::ETAG, tag);
    Ok(response)
}

fn missing() -> Problem {
    Problem::new(Kind::NotFound, "there is no such file")
}
