//! The sample that is shipped, and the demo's settings.

use super::*;

#[test]
fn the_shipped_sample_is_good_and_so_is_what_it_comments_out() {
    let sample = include_str!("../../../config/afterturn.toml");
    let (settings, report) = read(sample).expect("the sample is good");
    assert!(report.is_empty());
    let demo = Settings::demo(DEFAULT_PORT, 1);
    assert_eq!(settings.listen, demo.listen);
    assert_eq!(settings.stations, demo.stations);
    let at = sample
        .find("# [[station]]")
        .expect("there is a commented one");
    let uncommented: String = sample[at..]
        .lines()
        .map(|line| line.strip_prefix("# ").unwrap_or("").to_owned() + "\n")
        .collect();
    let (settings, report) = read(&uncommented).expect("the commented station is good");
    // For the tablet, until [https] is taken too.
    assert_eq!((report.mistakes(), report.diagnostics().len()), (0, 1));
    let cameras: Vec<_> = settings.stations.iter().map(|s| &s.camera).collect();
    assert!(matches!(
        cameras[..],
        [
            CameraSettings::Network(_),
            CameraSettings::Whip,
            CameraSettings::Usb(_),
            CameraSettings::File { .. }
        ]
    ));
    // The network's tables, as they stand there: they belong before the stations.
    let network = sample
        .find("# [https]")
        .expect("there is a commented table");
    let stations = sample.find("# One [[station]]").expect("it follows");
    let tables = sample[network..stations].lines().map(|line| {
        let line = line.strip_prefix("# ").unwrap_or("");
        // What was prose before stays prose.
        let is_toml = line.starts_with(['#', '[']) || line.contains(" = ");
        if is_toml {
            format!("{line}\n")
        } else {
            "\n".to_owned()
        }
    });
    let text = tables.collect::<String>() + &uncommented;
    let (settings, report) = read(&text).expect("the commented tables are good");
    assert_eq!(report.mistakes(), 0, "{report}");
    let https = settings.https.expect("there is HTTPS");
    assert_eq!(
        (https.listen.port(), https.name.as_str()),
        (8443, "afterturn.local")
    );
    assert!(https.own.is_some());
    assert_eq!(
        settings.plain_screens.expect("plain screens too").port(),
        8480
    );
    for key in server::KEYS.open.iter().chain(server::KEYS.closed) {
        assert!(sample.contains(key), "{key} is documented");
    }
}

#[test]
fn the_demo_moves_its_cameras_apart() {
    let demo = Settings::demo(0, u64::MAX);
    assert!(demo.listen.ip().is_loopback());
    assert_ne!(demo.stations[0].camera, demo.stations[1].camera);
}
