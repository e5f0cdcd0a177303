//! Bytes that were never a config file, and files spoilt at random.

use proptest::prelude::*;

use super::*;

/// Whatever the bytes, there is an answer, it can be shown, and a refusal has
/// a reason. Also the body of a fuzz run.
fn answers(bytes: &[u8]) -> String {
    let _ = Settings::recognises(bytes);
    match Settings::from_bytes("a.toml", bytes, &environment) {
        Ok((settings, report)) => {
            assert_eq!(report.mistakes(), 0);
            assert!(!settings.stations.is_empty());
            report.to_string()
        }
        Err(report) => {
            let page = report.to_string();
            assert!(report.mistakes() > 0, "{page}");
            page
        }
    }
}

proptest! {
    #[test]
    fn any_bytes_get_an_answer(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        answers(&bytes);
    }

    #[test]
    fn any_spoilt_file_gets_an_answer(
        spoils in proptest::collection::vec((0..GOOD.len(), 0..6usize, any::<u8>()), 1..6),
    ) {
        let mut bytes = GOOD.as_bytes().to_vec();
        for (at, cut, byte) in spoils {
            let at = at.min(bytes.len());
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, [byte]);
        }
        answers(&bytes);
    }

    #[test]
    fn a_sign_in_a_wrong_place_never_shows_the_password(
        at in 0..GOOD.len(),
        sign in "[\\[\\]{}=,#'\"\\\\ \nx.@:]",
        cut in 0..2usize,
    ) {
        // Inside the password the test could not recognise it.
        let secret = GOOD.find(PASSWORD).expect("it is there");
        let inside = at + cut > secret && at < secret + PASSWORD.len();
        let (at, cut) = if inside { (secret, 0) } else { (at, cut) };
        let mut text = GOOD.to_owned();
        text.replace_range(at..at + cut, &sign);
        let page = answers(text.as_bytes());
        prop_assert!(!page.contains(PASSWORD), "{}", page);
    }
}
