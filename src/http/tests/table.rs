//! Every path, with every method, by everybody.
//!
//! Not here: what each answers beyond its status.

use super::*;

/// A row: the path, the methods it is about, and the status for each of
/// [`ASKERS`]. `None` for the methods: all that no row above names.
pub(super) type Row = (&'static str, Option<&'static [&'static str]>, [u16; 5]);

pub(super) const READ: Option<&[&str]> = Some(&["GET", "HEAD"]);

pub(super) const TABLE: &[Row] = &[
    ("/", READ, [200, 200, 403, 403, 401]),
    ("/", None, [405; 5]),
    ("/remote", READ, [200, 200, 403, 403, 401]),
    ("/remote", None, [405; 5]),
    ("/tv/1", READ, [200, 200, 200, 200, 401]),
    ("/tv/1", None, [405; 5]),
    // Whoever may not watch does not learn which stations there are.
    ("/tv/9", READ, [404, 404, 403, 403, 401]),
    ("/tv/low-beam", READ, [404, 404, 403, 403, 401]),
    ("/hall", READ, [200, 200, 403, 403, 401]),
    ("/hall", None, [405; 5]),
    ("/hall/1", Some(&METHODS), [404; 5]),
    ("/api/hall", Some(&METHODS), [404; 5]),
    ("/health", READ, [200; 5]),
    ("/health", None, [405; 5]),
    // HTTPS is off here.
    ("/trust", READ, [404; 5]),
    ("/trust", None, [405; 5]),
    ("/trust/afterturn.crt", READ, [404; 5]),
    ("/assets/style/base.css", READ, [200; 5]),
    ("/assets/live/clock.js", READ, [200; 5]),
    ("/assets/page/tv.js", READ, [200; 5]),
    ("/assets/page/tv.js", None, [405; 5]),
    ("/assets/page/nothing.js", READ, [404; 5]),
    ("/assets/page/../figures/draw.js", READ, [404; 5]),
    ("/assets/style/base.css", None, [405; 5]),
    ("/assets/", READ, [404; 5]),
    ("/assets/style", READ, [404; 5]),
    ("/assets/style/nothing.css", READ, [404; 5]),
    // Compiled in as sources of pages, not to be fetched.
    ("/assets/pages/tv.html", READ, [404; 5]),
    ("/assets/words/en.ftl", READ, [404; 5]),
    ("/assets/../Cargo.toml", READ, [404; 5]),
    ("/assets/live/../../Cargo.toml", READ, [404; 5]),
    ("/assets/live/..%2f..%2fCargo.toml", READ, [404; 5]),
    ("/api/stations", READ, [200, 200, 403, 403, 401]),
    ("/api/stations", None, [405; 5]),
    ("/api/stations/1", READ, [200, 200, 403, 403, 401]),
    (
        "/api/stations/1",
        Some(&["PATCH"]),
        [200, 403, 403, 403, 401],
    ),
    ("/api/stations/1", None, [405; 5]),
    ("/api/stations/9", READ, [404, 404, 403, 403, 401]),
    (
        "/api/stations/9",
        Some(&["PATCH"]),
        [404, 403, 403, 403, 401],
    ),
    ("/api/stations/100", READ, [404, 404, 403, 403, 401]),
    ("/api/stations/-1", READ, [404, 404, 403, 403, 401]),
    // Nothing that could be an order in the body: see the next test for orders.
    (
        "/api/stations/1/orders",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/stations/1/orders", None, [405; 5]),
    (
        "/api/stations/1/again",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/stations/1/again", None, [405; 5]),
    (
        "/api/stations/1/calibration",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/stations/1/calibration", None, [405; 5]),
    // Nothing is to be seen of a camera that never started.
    ("/api/stations/1/still", READ, [204, 204, 403, 403, 401]),
    ("/api/stations/1/still", None, [405; 5]),
    ("/api/stations/9/still", READ, [404, 404, 403, 403, 401]),
    // A socket, asked for as a page.
    ("/api/stations/1/view", Some(&METHODS), [400; 5]),
    ("/api/showing", READ, [200, 200, 403, 403, 401]),
    // A delay is nothing that can be chosen here: see the next tests for what is.
    ("/api/showing", Some(&["PATCH"]), [400, 400, 403, 403, 401]),
    ("/api/showing", None, [405; 5]),
    ("/api/stations/1/settings", Some(&METHODS), [404; 5]),
    ("/sign-in", READ, [200; 5]),
    // An empty form: no passphrase to be set.
    ("/sign-in", Some(&["POST"]), [422; 5]),
    ("/sign-in", None, [405; 5]),
    ("/sign-out", Some(&["POST"]), [303; 5]),
    ("/sign-out", None, [405; 5]),
    ("/pair", READ, [200; 5]),
    ("/pair", None, [405; 5]),
    ("/api/pairing", READ, [200; 5]),
    ("/api/pairing", Some(&["POST"]), [200; 5]),
    ("/api/pairing", None, [405; 5]),
    ("/figures", READ, [200, 200, 403, 403, 401]),
    ("/figures", None, [405; 5]),
    ("/assets/figures/all.js", READ, [200; 5]),
    ("/assets/figures/names.txt", READ, [404; 5]),
    // Nobody waits here: see the tests of pairing.
    ("/api/pairing/qr", READ, [404; 5]),
    ("/api/pairing/qr", None, [405; 5]),
    ("/screens", READ, [200, 403, 403, 403, 401]),
    ("/screens", Some(&["POST"]), [400, 403, 403, 403, 401]),
    ("/screens", None, [405; 5]),
    ("/cameras", READ, [200, 403, 403, 403, 401]),
    ("/cameras", None, [405; 5]),
    ("/api/devices", READ, [200, 403, 403, 403, 401]),
    ("/api/devices", None, [405; 5]),
    (
        "/api/devices/video0/picture",
        Some(&["POST"]),
        [200, 403, 403, 403, 401],
    ),
    ("/api/devices/video0/picture", None, [405; 5]),
    // Another program's.
    (
        "/api/devices/video2/picture",
        Some(&["POST"]),
        [422, 403, 403, 403, 401],
    ),
    (
        "/api/devices/video9/picture",
        Some(&["POST"]),
        [404, 403, 403, 403, 401],
    ),
    ("/api/devices/video0", Some(&METHODS), [404; 5]),
    ("/api/class", READ, [200, 200, 403, 403, 401]),
    ("/api/class", None, [405; 5]),
    ("/api/class/start", READ, [200, 200, 403, 403, 401]),
    // Nothing that could be a start or a press in the body: see the class's tests.
    (
        "/api/class/start",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/class/start", None, [405; 5]),
    (
        "/api/class/presses",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/class/presses", None, [405; 5]),
    // Shows more than the list allows: see what each press shows.
    (
        "/api/class/shown",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/class/shown", None, [405; 5]),
    (
        "/api/class/answer",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/class/answer", None, [405; 5]),
    // Nothing that could be a cue or an answer in the body: see the class's tests.
    ("/api/class/cue", Some(&["POST"]), [400, 403, 403, 403, 401]),
    ("/api/class/cue", None, [405; 5]),
    ("/api/class/kept", READ, [200, 403, 403, 403, 401]),
    (
        "/api/class/kept",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/class/kept", None, [405; 5]),
    // Nothing that could be a change in the body.
    (
        "/api/class/changes",
        Some(&["POST"]),
        [400, 400, 403, 403, 401],
    ),
    ("/api/class/changes", None, [405; 5]),
    ("/api/class/end", Some(&METHODS), [404; 5]),
    ("/api/sound", READ, [200, 200, 403, 403, 401]),
    // A delay is nothing that can be chosen here: see the sound's tests.
    ("/api/sound", Some(&["PATCH"]), [400, 400, 403, 403, 401]),
    ("/api/sound", None, [405; 5]),
    (
        "/api/sound/tone",
        Some(&["POST"]),
        [200, 200, 403, 403, 401],
    ),
    ("/api/sound/tone", None, [405; 5]),
    // Nobody is the speaker here.
    ("/api/sound/files/1/0", READ, [403, 403, 403, 403, 401]),
    ("/api/sound/files/1/0", None, [405; 5]),
    ("/api/sound/files/1", Some(&METHODS), [404; 5]),
    ("/unit", READ, [200, 403, 403, 403, 401]),
    ("/unit", None, [405; 5]),
    // Who may not edit does not learn which units there are.
    ("/unit/circuit", READ, [404, 403, 403, 403, 401]),
    ("/unit/circuit", None, [405; 5]),
    ("/api/units", READ, [200, 403, 403, 403, 401]),
    ("/api/units", Some(&["POST"]), [400, 403, 403, 403, 401]),
    ("/api/units", None, [405; 5]),
    ("/api/units/circuit", READ, [404, 403, 403, 403, 401]),
    (
        "/api/units/circuit",
        Some(&["PUT"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/units/circuit", None, [405; 5]),
    (
        "/api/units/circuit/trial",
        Some(&["POST"]),
        [400, 403, 403, 403, 401],
    ),
    ("/api/units/circuit/trial", None, [405; 5]),
    (
        "/api/units/circuit/use",
        Some(&["POST"]),
        [404, 403, 403, 403, 401],
    ),
    ("/api/units/circuit/use", None, [405; 5]),
    ("/api/units/circuit/setups", READ, [404, 403, 403, 403, 401]),
    (
        "/api/units/circuit/grades/K",
        READ,
        [404, 403, 403, 403, 401],
    ),
    // A body that is no picture.
    ("/api/pictures", Some(&["POST"]), [422, 403, 403, 403, 401]),
    ("/api/pictures", None, [405; 5]),
    ("/api/pictures/a.png", READ, [404, 403, 403, 403, 401]),
    ("/api/pictures/a.png", None, [405; 5]),
    (
        "/api/stations/1/pictures/a.png",
        READ,
        [404, 404, 404, 404, 401],
    ),
    (
        "/api/stations/2/pictures/a.png",
        READ,
        [404, 404, 403, 403, 401],
    ),
    ("/api/stations/1/pictures/a.png", None, [405; 5]),
    ("/api", Some(&METHODS), [404; 5]),
    ("/api/classes", Some(&METHODS), [404; 5]),
    ("/nowhere", Some(&METHODS), [404; 5]),
    ("/remote/1", Some(&METHODS), [404; 5]),
    ("/tv", Some(&METHODS), [404; 5]),
    ("/tv/1/2", Some(&METHODS), [404; 5]),
];

#[tokio::test]
async fn every_route_answers_everybody_as_the_table_says() {
    let routes = routes(&app());
    let mut named: Vec<(&str, &str)> = Vec::new();
    let tables = [TABLE, publishing::TABLE, roster::TABLE];
    for (path, methods, statuses) in tables.into_iter().flatten() {
        let rest: Vec<&str> = METHODS
            .into_iter()
            .filter(|method| !named.contains(&(*path, *method)))
            .collect();
        for method in methods.unwrap_or(&rest) {
            named.push((path, method));
            for (role, status) in ASKERS.into_iter().zip(statuses) {
                let asked = ask(method, path, role).json(&json!({ "delay_ms": 4_000 }));
                let got = asked.reply(&routes).await.status();
                assert_eq!(got, *status, "{method} {path} as {role:?}");
            }
        }
    }
}
