//! Config files of any bytes.
//!
//! Not here: reading one from the disk.

use std::collections::BTreeSet;

use afterturn::settings::{CameraSettings, Secret, Settings, diagnostic::Report};

/// A password no file has but by our doing.
const PASSWORD: &str = "Zwirn-4711";

/// Keys, values and signs of the file.
pub const WORDS: &[&[u8]] = &[
    b"[[station]]\n",
    b"[station.camera]\n",
    b"number = 1\n",
    b"title = \"Low beam\"\n",
    b"delay_ms = 10000\n",
    b"window_ms = 4000\n",
    b"latency_ms = 2000\n",
    b"kind = \"network\"\n",
    b"kind = \"demo\"\n",
    b"url = \"rtsp://192.168.1.20:554/stream1\"\n",
    b"url = \"rtsp://viewer:Zwirn-4711@[::1]/a?b\"\n",
    b"user = \"viewer\"\n",
    b"password = \"Zwirn-4711\"\n",
    b"password_env = \"GYM_CAM\"\n",
    b"listen = \"127.0.0.1:8460\"\n",
    b"listen = \"0.0.0.0:80\"\n",
    b"state_dir = \"/var/lib/afterturn\"\n",
    b"99",
    b"-1",
    b"9223372036854775807",
    b"\"\"\"",
    b"'",
    b"\"",
    b"=",
    b"#",
    b"\n",
    b"\r\n",
    b"@",
    b"\\u00e9",
    b"\xc3\xa9",
    b"\xef\xbb\xbf",
    b"\xff",
];

/// Whatever the bytes, there is one answer, always the same:
///
/// - refused with at least one mistake, each at a place within the file; or
///   taken, and then everything is within its bounds;
/// - the page that is shown never holds a password that stands behind its key,
///   or in the environment, however broken the rest; what `Debug` shows of
///   settings holds none that they found;
/// - a file that is taken is recognised as a config file.
pub fn config_file(data: &[u8]) {
    let environment = |name: &str| (name == "GYM_CAM").then(|| PASSWORD.to_owned());
    let read = || Settings::from_bytes("afterturn.toml", data, &environment);
    let recognised = Settings::recognises(data);
    match (read(), read()) {
        (Ok((settings, report)), Ok((again, _))) => {
            assert_eq!(settings, again);
            assert_eq!(report.mistakes(), 0);
            assert!(recognised, "taken, and not recognised");
            within_bounds(&settings);
            keeps_secrets(&settings);
            page(&report, data);
        }
        (Err(report), Err(again)) => {
            assert!(report.mistakes() > 0, "refused without a reason");
            assert_eq!(report.to_string(), again.to_string());
            page(&report, data);
        }
        _ => panic!("taken once and refused once"),
    }
}

/// What `config/afterturn.toml` says about every key.
fn within_bounds(settings: &Settings) {
    assert!(settings.listen.ip().is_loopback(), "{}", settings.listen);
    assert!(!settings.stations.is_empty());
    if let Some(folder) = &settings.state_dir {
        assert!(folder.is_absolute(), "{}", folder.display());
    }
    let mut numbers = BTreeSet::new();
    for station in &settings.stations {
        assert!((1..=99).contains(&station.number.get()));
        assert!(numbers.insert(station.number), "a number twice");
        let letters = station.title.chars().count();
        assert!((1..=60).contains(&letters), "{:?}", station.title);
        assert!((4_000..=120_000).contains(&station.window_ms));
        assert!(station.delay.ms().is_multiple_of(500));
        assert!(station.delay.ms() + 2_000 <= station.window_ms);
        assert!(station.latency_ms <= 2_000);
    }
}

fn keeps_secrets(settings: &Settings) {
    let debug = format!("{settings:?}");
    for station in &settings.stations {
        let CameraSettings::Network(network) = &station.camera else {
            continue;
        };
        let location = network.url.location();
        assert!(!location.contains('@'), "a sign-in in an address");
        // Another one may be a word of the file, which cannot be told from it.
        let password = network.password.as_ref().map(Secret::expose);
        if password == Some(PASSWORD) && !location.contains(PASSWORD) {
            assert!(!debug.contains(PASSWORD), "Debug shows a password");
        }
    }
}

fn page(report: &Report, data: &[u8]) {
    // As an editor counts, whatever ends its lines.
    let ends = |byte: &&u8| matches!(byte, b'\n' | b'\r');
    let lines = 1 + data.iter().filter(ends).count();
    for found in report.diagnostics() {
        let place = report.place(found);
        assert!((1..=lines).contains(&place.line), "line {}", place.line);
        assert!(!found.message.english().is_empty() && !found.fix.english().is_empty());
    }
    let text = String::from_utf8_lossy(data);
    let behind_its_key = |(at, _): (usize, &str)| text[..at].ends_with("password = \"");
    if text.match_indices(PASSWORD).all(behind_its_key) {
        let page = report.to_string();
        assert!(!page.contains(PASSWORD), "a password is shown: {page}");
    }
}

/// The sample that is delivered, and files a school might write.
#[must_use]
pub fn seeds() -> Vec<Vec<u8>> {
    let sample = include_bytes!("../../../../config/afterturn.toml").to_vec();
    // The network camera that the sample has behind its # signs.
    let text = String::from_utf8_lossy(&sample);
    let opened = text.replace("\n# ", "\n").replace("\n#\n", "\n");
    let plain = |file: &str| -> Vec<u8> {
        let lines = file
            .lines()
            .filter(|line| !line.trim_start().starts_with('#'));
        lines
            .flat_map(|line| [line, "\n"].concat().into_bytes())
            .collect()
    };
    let short: Vec<u8> = [0, 2, 3, 1, 7, 9, 11, 12, 0, 2, 3, 1, 8]
        .into_iter()
        .flat_map(|at| WORDS[at])
        .copied()
        .collect();
    vec![plain(&text), plain(&opened), sample, short]
}
