//! The config file's rules: whole files here, one seeded mistake at a time in
//! [`seeded`], single keys in [`keys`], bytes that were never a config file in [`any_bytes`],
//! what is shipped in [`sample`].

mod any_bytes;
mod keys;
mod network;
mod sample;
mod seeded;

use super::diagnostic::Severity;
use super::*;

/// A password no file but a test's has.
const PASSWORD: &str = "Zwirn-4711";

fn environment(name: &str) -> Option<String> {
    (name == "GYM_CAM").then(|| PASSWORD.to_owned())
}

fn read(text: &str) -> Result<(Settings, Report), Report> {
    Settings::from_bytes("afterturn.toml", text.as_bytes(), &environment)
}

/// The lines and messages found, page included; panics if the file is good.
fn mistakes(text: &str) -> (Vec<(usize, String)>, String) {
    let report = read(text).expect_err("this file has mistakes");
    let found = report
        .diagnostics()
        .iter()
        .map(|found| {
            (
                report.place(found).line,
                format!("{} / {}", found.message, found.fix),
            )
        })
        .collect();
    (found, report.to_string())
}

/// A good file of two stations; mistakes are seeded into it.
const GOOD: &str = "\
listen = '127.0.0.1:8460'
state_dir = '/var/lib/afterturn'
[[station]]
number = 1
title = 'Beam walk'
delay_ms = 10000
window_ms = 30000
[station.camera]
kind = 'network'
url = 'rtsp://192.168.1.20:554/stream1'
user = 'viewer'
password = 'Zwirn-4711'
latency_ms = 250
[[station]]
number = 2
title = 'Box jump'
[station.camera]
kind = 'demo'
seed = 7
";

#[test]
fn a_screen_that_is_not_described_is_a_usual_one_nobody_comes_near() {
    let screen = |keys: &str| {
        let text = format!("{GOOD}[station.screen]\n{keys}");
        let (settings, _) = read(&text).expect("it is good");
        assert_eq!(settings.stations[0].screen, ScreenSettings::default());
        settings.stations[1].screen
    };
    assert_eq!(screen(""), ScreenSettings::default());
    let own = screen("diagonal_in = 75\nlower_edge_cm = 110\ndistance_cm = 500\n");
    assert_eq!((own.diagonal_in, own.lower_edge_cm), (75, 110));
    assert_eq!((own.distance_cm, own.approach_cm), (500, 500));
    assert_eq!(screen("approach_cm = 250\n").approach_cm, 250);
    // The one the letters are computed for when nothing is said.
    assert_eq!(
        ScreenSettings::default().screen(),
        afterturn_core::plan::lettering::Screen::default()
    );
}

#[test]
fn the_unspoilt_file_is_good() {
    let (settings, report) = read(GOOD).expect("it is good");
    assert!(report.is_empty());
    assert_eq!(settings.listen.port(), 8460);
    assert_eq!(
        settings.state_dir.as_deref(),
        Some(Path::new("/var/lib/afterturn"))
    );
    let [first, second] = &settings.stations[..] else {
        panic!("there are two stations");
    };
    assert_eq!(
        (first.number.get(), first.delay.ms(), first.latency_ms),
        (1, 10_000, 250)
    );
    assert_eq!(
        (second.delay.ms(), second.window_ms, second.latency_ms),
        (10_000, 30_000, 0)
    );
    assert_eq!((first.attempt.get(), second.attempt.get()), (8, 8));
    assert_eq!(second.camera, CameraSettings::Demo { seed: 7 });
    assert_eq!(settings.encoder, None);
    let CameraSettings::Network(network) = &first.camera else {
        panic!("the first camera is on the network");
    };
    assert_eq!(network.url.location(), "rtsp://192.168.1.20:554/stream1");
    assert_eq!(network.user.as_deref(), Some("viewer"));
    assert_eq!(
        network.password.as_ref().map(Secret::expose),
        Some(PASSWORD)
    );
    assert!(!format!("{settings:?}").contains(PASSWORD));
}

/// The last station's camera and latency, where these lines stand for it.
fn camera(lines: &str) -> (CameraSettings, u32, Report) {
    let text = GOOD.replace("kind = 'demo'\nseed = 7", lines);
    let (mut settings, report) = read(&text).unwrap_or_else(|report| panic!("{report}"));
    let station = settings.stations.pop().expect("there are two stations");
    (station.camera, station.latency_ms, report)
}

#[test]
fn an_attempt_is_as_long_as_it_is_said() {
    for attempt_s in [2, 5, 20] {
        let line = format!("delay_ms = 10000\nattempt_s = {attempt_s}");
        let (settings, _) = read(&GOOD.replace("delay_ms = 10000", &line)).expect("it is good");
        assert_eq!(settings.stations[0].attempt.get(), attempt_s);
        assert_eq!(settings.stations[1].attempt, AttemptS::USUAL);
    }
}

#[test]
fn each_kind_of_camera_has_its_defaults() {
    let lasting = "/dev/v4l/by-id/usb-Gym_Cam-video-index0";
    let (usb, latency_ms, report) = camera(&format!("kind = 'usb'\ndevice = '{lasting}'"));
    let wanted = crate::av::encode::USUAL;
    let device = lasting.into();
    assert_eq!(usb, CameraSettings::Usb(UsbSettings { device, wanted }));
    assert_eq!(latency_ms, 65);
    assert!(report.is_empty());
    let size = "width_px = 1920\nheight_px = 1080\nfps = 25\nlatency_ms = 90";
    let (usb, latency_ms, report) =
        camera(&format!("kind = 'usb'\ndevice = '/dev/video0'\n{size}"));
    let CameraSettings::Usb(usb) = usb else {
        panic!("it is a USB camera");
    };
    assert_eq!((usb.wanted.size.width_px, usb.wanted.fps), (1920, 25));
    assert_eq!(latency_ms, 90);
    // Good, but the number may be another camera's next time.
    assert_eq!(report.mistakes(), 0);
    assert!(report.to_string().contains("lasting name"), "{report}");
    let (file, latency_ms, _) = camera("kind = 'file'\npath = '/srv/class.mp4'");
    let path = "/srv/class.mp4".into();
    assert_eq!((file, latency_ms), (CameraSettings::File { path }, 0));
    let (tablet, latency_ms, report) = camera("kind = 'whip'");
    assert_eq!((tablet, latency_ms), (CameraSettings::Whip, 60));
    // Without HTTPS no tablet gives its camera.
    assert_eq!(report.diagnostics().len(), 1, "{report}");
    assert!(report.to_string().contains("add a table [https]"));
    let text = GOOD.replace("'demo'\nseed = 7", "'whip'\nurl = 'rtsp://x'");
    let report = read(&text).expect_err("a key of another kind").to_string();
    assert!(report.contains("belongs to a network camera"), "{report}");
}

#[test]
fn publishers_have_one_port() {
    let port = |line: &str| read(&format!("{line}\n{GOOD}"));
    assert_eq!(port("").expect("it is good").0.whip_port, 8490);
    assert_eq!(port("whip_port = 0").expect("it is good").0.whip_port, 0);
    for (line, words) in [
        ("whip_port = 65536", "the nearest possible is 65535"),
        ("whip_port = '8490'", ""),
        ("whip_prot = 8490", "whip_port"),
    ] {
        let report = port(line).expect_err("a mistake").to_string();
        assert!(report.contains(words), "{report}");
    }
}

#[test]
fn an_encoder_may_be_named_or_left_to_the_program() {
    let read = |line: &str| {
        let text = format!("{line}\n{GOOD}");
        read(&text).expect("it is good").0.encoder
    };
    assert_eq!(read("encoder = 'auto'"), None);
    assert_eq!(read("encoder = 'x264enc'").as_deref(), Some("x264enc"));
}

#[test]
fn several_mistakes_all_come_out_in_the_order_of_the_file() {
    let text = GOOD
        .replace("127.0.0.1", "0.0.0.0")
        .replace("delay_ms = 10000", "delay_ms = 10100")
        .replace("rtsp:", "http:")
        .replace("latency_ms", "latncy_ms")
        .replace("number = 2", "number = 1")
        .replace("seed = 7", "seed = 'seven'");
    let (found, page) = mistakes(&text);
    let lines: Vec<usize> = found.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, [1, 6, 10, 13, 15, 19], "{page}");
    assert!(page.ends_with("afterturn.toml: 6 mistakes\n"));
}

#[test]
fn broken_grammar_does_not_hide_the_rest_nor_invent_more() {
    let text = GOOD
        .replace("title = 'Beam walk'", "title 'Beam walk'")
        .replace("window_ms = 30000", "window_ms = 1")
        .replace("'demo'", "demo");
    let (found, page) = mistakes(&text);
    let lines: Vec<usize> = found.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, [5, 7, 18], "{page}");
}

#[test]
fn a_number_used_twice_is_shown_at_both_places() {
    let (_, page) = mistakes(&GOOD.replace("number = 2", "number = 1"));
    assert!(page.contains("     4 | number = 1"), "{page}");
    assert!(page.contains("    15 | number = 1"), "{page}");
    assert!(page.contains("2 is free"), "{page}");
}

#[test]
fn files_with_nothing_in_them_say_so() {
    for (text, words) in [
        ("", "the file is empty"),
        ("\u{feff}\n  \n", "the file is empty"),
        ("# only words\n", "has no `station`"),
        ("listen = '127.0.0.1:8460'", "has no `station`"),
        ("station = []", "`station` is empty"),
        ("station = 3", "a row of tables"),
        ("station = [1]", "holds tables"),
        (
            "[station]\nnumber = 1\ntitle = 'a'\n[station.camera]\nkind = 'demo'",
            "[[station]]",
        ),
        ("[[stations]]\nnumber = 1", "did you mean `station`?"),
    ] {
        let (found, page) = mistakes(text);
        assert_eq!(found.len(), 1, "{text}: {page}");
        assert!(found[0].1.contains(words), "{text}: {page}");
    }
}

#[test]
fn bytes_that_are_not_text_are_placed() {
    let mut bytes = GOOD.as_bytes().to_vec();
    let at = GOOD.find("Box").expect("it is there");
    bytes[at] = 0xfc;
    let report = Settings::from_bytes("a.toml", &bytes, &environment).expect_err("not UTF-8");
    assert_eq!(report.diagnostics().len(), 1, "{report}");
    assert_eq!(report.place(&report.diagnostics()[0]).line, 16);
    assert!(report.to_string().contains("not UTF-8"));
    let utf16: Vec<u8> = std::iter::once(0xfeff_u16)
        .chain(GOOD.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    let report = Settings::from_bytes("a.toml", &utf16, &environment).expect_err("UTF-16");
    assert!(report.to_string().contains("UTF-16"));
    assert!(Settings::recognises(&utf16));
}

#[test]
fn credentials_in_an_address_are_moved_and_warned_about() {
    let text = GOOD
        .replace("//192", "//viewer:Zwirn-4711@192")
        .replace("user = 'viewer'\npassword = 'Zwirn-4711'\n", "");
    let (settings, report) = read(&text).expect("it is good");
    let CameraSettings::Network(network) = &settings.stations[0].camera else {
        panic!("the first camera is on the network");
    };
    assert_eq!(network.user.as_deref(), Some("viewer"));
    assert_eq!(
        network.password.as_ref().map(Secret::expose),
        Some(PASSWORD)
    );
    assert_eq!(report.mistakes(), 0);
    assert_eq!(report.diagnostics()[0].severity, Severity::Warning);
    let page = report.to_string();
    assert!(
        page.contains("warning: ") && page.contains("1 warning"),
        "{page}"
    );
    assert!(
        !page.contains(PASSWORD) && !page.contains("viewer"),
        "{page}"
    );
}

#[test]
fn the_environment_is_asked_for_what_the_file_leaves_out() {
    let text = GOOD
        .replace("password = 'Zwirn-4711'", "password_env = 'GYM_CAM'")
        .replace("state_dir = '/var/lib/afterturn'\n", "");
    let service = |name: &str| match name {
        "STATE_DIRECTORY" => Some("/var/lib/afterturn:/var/lib/other".to_owned()),
        _ => environment(name),
    };
    let (settings, _) = Settings::from_bytes("a", text.as_bytes(), &service).expect("it is good");
    assert_eq!(
        settings.state_dir.as_deref(),
        Some(Path::new("/var/lib/afterturn"))
    );
    let CameraSettings::Network(network) = &settings.stations[0].camera else {
        panic!("the first camera is on the network");
    };
    assert_eq!(
        network.password.as_ref().map(Secret::expose),
        Some(PASSWORD)
    );
    let (settings, _) = read(&text).expect("it is good");
    assert_eq!(settings.state_dir, None);
}

#[test]
fn units_are_beside_the_file_unless_the_service_manager_hands_it_over() {
    let dir = tempfile::tempdir().expect("a temporary directory");
    let path = dir.path().join("afterturn.toml");
    let text = GOOD.replace("state_dir = '/var/lib/afterturn'\n", "");
    std::fs::write(&path, text).expect("written");
    let units = |credentials: &'static str| {
        let own = dir.path().display().to_string();
        let service = move |name: &str| match name {
            "STATE_DIRECTORY" => Some("/var/lib/afterturn".to_owned()),
            // systemd.exec(5), "Credentials".
            "CREDENTIALS_DIRECTORY" => Some(credentials.replace("own", &own)),
            _ => environment(name),
        };
        let (settings, _) = Settings::load(&path, &service).expect("it is good");
        settings.units_dir.expect("there is always one")
    };
    let kept = Path::new("/var/lib/afterturn/units");
    assert_eq!(units("own"), kept);
    assert_eq!(units("/elsewhere"), dir.path().join("units"));
}
