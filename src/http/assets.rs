//! Scripts and styles, compiled into the binary; a page's own script comes with all
//! it stands on, as one file.
//!
//! Not here: pages, which are templates.

use std::borrow::Cow;

use rust_embed::RustEmbed;
use sha2::{Digest as _, Sha256};
use warp::{
    Reply,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

use super::{Kind, Problem, bundle::bundle};

/// Under it, `live/NAME.js` with all it needs is `NAME.js`.
const PAGE: &str = "page/";

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
    let (data, hash) = if let Some(name) = path.strip_prefix(PAGE) {
        page_script(name)?
    } else {
        let file = Web::get(path).ok_or_else(missing)?;
        let hash = file.metadata.sha256_hash();
        (file.data, hash)
    };
    let tag = format!(
        "\"{:016x}\"",
        u64::from_be_bytes(std::array::from_fn(|i| hash[i]))
    );
    let mut response = if have == Some(tag.as_str()) {
        StatusCode::NOT_MODIFIED.into_response()
    } else {
        data.into_owned().into_response()
    };
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-cache"));
    let tag = HeaderValue::from_str(&tag).expect("hex digits in quotes are a header value");
    headers.insert(header::ETAG, tag);
    Ok(response)
}

/// A page's script, and a mark of it.
fn page_script(name: &str) -> Result<(Cow<'static, [u8]>, [u8; 32]), Problem> {
    let entry = format!("live/{name}");
    if Web::get(&entry).is_none() {
        return Err(missing());
    }
    let script = bundle(&entry, &text).map_err(|error| {
        // None is like this in a program that was tested.
        tracing::error!("{error}");
        Problem::new(Kind::Broken, "the page's script does not fit together")
    })?;
    let hash = Sha256::digest(&script).into();
    Ok((Cow::Owned(script.into_bytes()), hash))
}

fn text(path: &str) -> Option<String> {
    let file = Web::get(path)?;
    String::from_utf8(file.data.into_owned()).ok()
}

fn missing() -> Problem {
    Problem::new(Kind::NotFound, "there is no such file")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The names of the scripts that a page asks for.
    fn asked_for(page: &str) -> Vec<&str> {
        let after = page.split("src=\"/assets/page/").skip(1);
        after.filter_map(|rest| rest.split('"').next()).collect()
    }

    #[test]
    fn every_page_gets_its_script_whole() {
        let pages = Web::iter().filter(|path| path.starts_with("pages/"));
        let mut scripts = 0;
        for path in pages {
            let page = text(&path).expect("a page is text");
            assert!(
                !page.contains("/assets/live/"),
                "{path} fetches piece by piece"
            );
            for name in asked_for(&page) {
                let script = bundle(&format!("live/{name}"), &text);
                let script = script.unwrap_or_else(|error| panic!("{path}: {error}"));
                let left = script
                    .lines()
                    .find(|line| line.starts_with("import ") || line.starts_with("export "));
                assert_eq!(left, None, "{name}");
                scripts += 1;
            }
        }
        assert!(scripts > 10, "{scripts}");
    }
}
