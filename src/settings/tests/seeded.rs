//! One mistake at a time, seeded into the good file.

use super::*;

/// What is replaced in [`GOOD`], by what, the line of the one mistake, and
/// words of its message or fix.
const SEEDED: &[(&str, &str, usize, &str)] = &[
    (
        "'127.0.0.1:8460'",
        "'0.0.0.0:8460'",
        1,
        "without encryption",
    ),
    (
        "'127.0.0.1:8460'",
        "'192.168.1.4:8460'",
        1,
        "without encryption",
    ),
    (
        "'127.0.0.1:8460'",
        "'localhost'",
        1,
        "not an address with a port",
    ),
    ("'127.0.0.1:8460'", "'127.0.0.1:0'", 1, "port 0"),
    ("'127.0.0.1:8460'", "8460", 1, "is text, not a whole number"),
    ("listen", "lissten", 1, "did you mean `listen`?"),
    ("'/var/lib/afterturn'", "'afterturn'", 2, "begin it with /"),
    (
        "state_dir",
        "units_dir = 'units'\nstate_dir",
        2,
        "begin it with /",
    ),
    (
        "state_dir",
        "memory_mb = 8\nstate_dir",
        2,
        "the nearest possible is 16",
    ),
    (
        "state_dir",
        "memory_mb = '1 GB'\nstate_dir",
        2,
        "whole number",
    ),
    (
        "state_dir",
        "this_machine = 'teacher'\nstate_dir",
        2,
        "write \"sign-in\" or \"watch\"",
    ),
    (
        "[[station]]\nnumber = 1",
        "encoder = 'x264ecn'\n[[station]]\nnumber = 1",
        3,
        "did you mean \"x264enc\"?",
    ),
    (
        "[[station]]\nnumber = 1",
        "encoder = 'gpu'\n[[station]]\nnumber = 1",
        3,
        "write \"auto\", or one of",
    ),
    (
        "[[station]]\nnumber = 1",
        "encoder = true\n[[station]]\nnumber = 1",
        3,
        "is text, not true or false",
    ),
    ("number = 1", "number = 0", 4, "from 1 to 99, not 0"),
    ("number = 1", "number = 100", 4, "from 1 to 99, not 100"),
    (
        "number = 1",
        "number = '1'",
        4,
        "take the quotation marks away",
    ),
    ("number = 1", "number = 1.0", 4, "without a point"),
    ("number = 1", "numbre = 1", 4, "did you mean `number`?"),
    ("number = 1\n", "", 3, "has no `number`"),
    ("number = 2", "number = 1", 15, "a station 1 already"),
    ("'Beam walk'", "''", 5, "1 to 60 characters, not 0"),
    ("'Beam walk'", "'Balance\tline'", 5, "one line"),
    ("'Beam walk'", "true", 5, "is text, not true or false"),
    ("title = 'Box jump'\n", "", 14, "has no `title`"),
    (
        "delay_ms = 10000",
        "delay_ms = 10000\nattempt_s = 21",
        7,
        "the nearest possible is 20",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = 10000\nattempt_s = 1",
        7,
        "the nearest possible is 2",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = 10000\nattempt_s = '8 s'",
        7,
        "whole number",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = 10000\natempt_s = 8",
        7,
        "did you mean `attempt_s`?",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = 10250",
        6,
        "the nearest possible is 10500",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = 29000",
        6,
        "the nearest possible is 28000",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = -500",
        6,
        "the nearest possible is 0",
    ),
    (
        "delay_ms = 10000",
        "delay_ms = 10",
        6,
        "for 10 seconds write 10000",
    ),
    (
        "delay_ms = 10000",
        "delay = 10000",
        6,
        "did you mean `delay_ms`?",
    ),
    (
        "window_ms = 30000",
        "window_ms = 3000",
        7,
        "the nearest possible is 4000",
    ),
    (
        "window_ms = 30000",
        "window_ms = 300000",
        7,
        "the nearest possible is 120000",
    ),
    (
        "delay_ms = 10000\nwindow_ms = 30000",
        "window_ms = 8000",
        6,
        "add  delay_ms = 6000",
    ),
    (
        "[station.camera]\nkind = 'demo'\nseed = 7\n",
        "",
        14,
        "has no `camera`",
    ),
    ("'network'", "'netwrok'", 9, "did you mean \"network\"?"),
    ("'network'", "'webcam'", 9, "\"file\" or \"demo\""),
    ("kind = 'demo'\n", "", 17, "has no `kind`"),
    ("rtsp://192", "http://192", 10, "begins with rtsp://"),
    ("192.168.1.20:554", "192.168.1.20:rtsp", 10, "not a port"),
    ("192.168.1.20:554", "", 10, "no host"),
    ("/stream1", "/stream 1", 10, "no spaces"),
    (
        "url = 'rtsp://192.168.1.20:554/stream1'\n",
        "",
        8,
        "has no `url`",
    ),
    ("//192", "//viewer:Zwirn-4711@192", 10, "stand twice"),
    ("'viewer'", "'viewer:Zwirn-4711'", 11, "no colon"),
    ("user = 'viewer'\n", "", 8, "no `user`"),
    ("'Zwirn-4711'", "''", 12, "password is empty"),
    ("'Zwirn-4711'", "4711", 12, "is text, not a whole number"),
    ("'Zwirn-4711'", "Zwirn-4711", 12, "quotation marks"),
    ("'Zwirn-4711'", "'Zwirn-4711", 12, "quotation mark"),
    (
        "password = 'Zwirn-4711'",
        "pasword = 'Zwirn-4711'",
        12,
        "did you mean `password`?",
    ),
    (
        "password = 'Zwirn-4711'",
        "password = 'Zwirn-4711'\npassword_env = 'GYM_CAM'",
        13,
        "exclude",
    ),
    (
        "password = 'Zwirn-4711'",
        "password_env = 'NO_SUCH'",
        12,
        "NO_SUCH is not set",
    ),
    (
        "password = 'Zwirn-4711'",
        "password_env = 'Zwirn-4711'",
        12,
        "names a variable",
    ),
    (
        "latency_ms = 250",
        "latency_ms = 2001",
        13,
        "the nearest possible is 2000",
    ),
    (
        "latency_ms = 250",
        "seed = 1",
        13,
        "belongs to the demo camera",
    ),
    (
        "seed = 7",
        "url = 'rtsp://a/b'",
        19,
        "belongs to a network camera",
    ),
    (
        "seed = 7",
        "fps = 25",
        19,
        "belongs to a USB camera, and this is the demo camera",
    ),
    ("seed = 7", "path = '/a'", 19, "write kind = \"file\""),
    ("seed = 7", "seed = -7", 19, "the nearest possible is 0"),
    ("seed = 7", "colour = 'red'", 19, "the keys here are"),
    ("seed = 7", "seed = 7\nseed = 8", 20, "here already"),
    ("seed = 7", "seed =", 19, "a value is missing"),
    ("seed = 7", "seed 7", 19, "no `=`"),
    (
        "kind = 'demo'",
        "kind = 'demo'\n[sound]\nvolume = 3",
        19,
        "`sound` is not a key of this file",
    ),
];

/// The same for the last station's camera, put in place of the demo.
const CAMERAS: &[(&str, usize, &str)] = &[
    (
        "kind = 'USB'\ndevice = '/dev/video0'",
        18,
        "did you mean \"usb\"?",
    ),
    ("kind = 'usb'", 17, "has no `device`"),
    (
        "kind = 'usb'\ndevice = 'video0'",
        19,
        "`afterturn cameras` lists",
    ),
    ("kind = 'usb'\ndevice = '/dev/'", 19, "a path below /dev/"),
    (
        "kind = 'usb'\ndevice = 0",
        19,
        "is text, not a whole number",
    ),
    (
        "kind = 'usb'\ndevise = '/dev/v4l/by-id/a'",
        19,
        "did you mean `device`?",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nwidth_px = 1280",
        20,
        "write both, or neither",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nheight_px = 720",
        20,
        "write both, or neither",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nwidth_px = 3840\nheight_px = 1080",
        20,
        "the nearest possible is 1920",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nwidth_px = 1280\nheight_px = 7200",
        21,
        "the nearest possible is 1080",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nfps = 120",
        20,
        "the nearest possible is 60",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nfps = 29.97",
        20,
        "without a point",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nwidth_px = 1920\nheight_px = 1080\nfps = 60",
        22,
        "write fps = 30",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\npath = '/a.mp4'",
        20,
        "belongs to a recording, and this is a USB camera",
    ),
    (
        "kind = 'usb'\ndevice = '/dev/v4l/by-id/a'\nlatency_ms = 5000",
        20,
        "the nearest possible is 2000",
    ),
    ("kind = 'file'", 17, "has no `path`"),
    ("kind = 'file'\npath = 'class.mp4'", 19, "begin it with /"),
    ("kind = 'file'\npath = ''", 19, "begin it with /"),
    ("kind = 'file'\npath = 7", 19, "is text, not a whole number"),
    (
        "kind = 'file'\npaht = '/srv/class.mp4'",
        19,
        "did you mean `path`?",
    ),
    (
        "kind = 'file'\npath = '/srv/class.mp4'\ndevice = '/dev/video0'",
        20,
        "belongs to a USB camera, and this is a recording",
    ),
    (
        "kind = 'file'\npath = '/srv/class.mp4'\nurl = 'rtsp://a/b'",
        20,
        "belongs to a network camera",
    ),
];

/// The same for a screen, put below the last camera: line 20 is its header.
const SCREENS: &[(&str, usize, &str)] = &[
    ("diagonal_in = 5", 21, "the nearest possible is 10"),
    ("diagonal_in = 54.6", 21, "without a point"),
    ("diagonal_in = '65'", 21, "take the quotation marks away"),
    ("diagonal = 65", 21, "did you mean `diagonal_in`?"),
    ("lower_edge_cm = -3", 21, "the nearest possible is 0"),
    ("lower_edge_cm = 1020", 21, "the nearest possible is 600"),
    ("distance_cm = 6", 21, "the nearest possible is 50"),
    ("distance_m = 6", 21, "did you mean `distance_cm`?"),
    (
        "distance_cm = 500\napproach_cm = 501",
        22,
        "the nearest possible is 500",
    ),
    ("approach_cm = true", 21, "is a whole number"),
    ("pixels = 1080", 21, "the keys here are"),
];

#[test]
fn every_mistake_about_a_screen_is_found_at_its_place_and_alone() {
    for (screen, line, words) in SCREENS {
        let text = format!("{GOOD}[station.screen]\n{screen}\n");
        let (found, page) = mistakes(&text);
        assert_eq!(found.len(), 1, "{screen}: {page}");
        assert_eq!(found[0].0, *line, "{screen}: {page}");
        assert!(found[0].1.contains(words), "{screen}: {page}");
    }
}

#[test]
fn every_mistake_about_a_camera_is_found_at_its_place_and_alone() {
    for (camera, line, words) in CAMERAS {
        let text = GOOD.replace("kind = 'demo'\nseed = 7", camera);
        assert_ne!(text, GOOD);
        let (found, page) = mistakes(&text);
        assert_eq!(found.len(), 1, "{camera}: {page}");
        assert_eq!(found[0].0, *line, "{camera}: {page}");
        assert!(found[0].1.contains(words), "{camera}: {page}");
    }
}

#[test]
fn every_seeded_mistake_is_found_at_its_place_and_alone() {
    for (from, to, line, words) in SEEDED {
        let text = GOOD.replacen(from, to, 1);
        assert_ne!(text, GOOD, "{from} is in the good file");
        let (found, page) = mistakes(&text);
        let errors: Vec<_> = found
            .iter()
            .filter(|(_, text)| text.contains(words))
            .collect();
        assert_eq!(errors.len(), 1, "{to}: {page}");
        assert_eq!(errors[0].0, *line, "{to}: {page}");
        assert!(page.contains(&format!("afterturn.toml:{line}:")), "{page}");
        assert!(!page.contains(PASSWORD), "{to}: {page}");
        let warned = usize::from(to.contains('@'));
        assert_eq!(found.len(), 1 + warned, "{to}: {page}");
    }
}
