//! The units over HTTP: for the teacher alone, saved against a version, refused
//! with what is needed to go on.

use super::*;
use crate::units::Shelf;

const NAME: &str = "/api/units/larkfield-circuit";

fn routes_with_sample() -> warp::filters::BoxedFilter<(warp::reply::Response,)> {
    routes(&app().with_units(Arc::new(Shelf::sample())))
}

async fn get(
    routes: &warp::filters::BoxedFilter<(warp::reply::Response,)>,
    path: &str,
) -> (u16, Value) {
    let reply = ask("GET", path, Some("teacher")).reply(routes).await;
    let body = serde_json::from_slice(reply.body()).expect("JSON");
    (reply.status().as_u16(), body)
}

async fn send(
    routes: &warp::filters::BoxedFilter<(warp::reply::Response,)>,
    method: &str,
    path: &str,
    body: &Value,
) -> (u16, Value) {
    let reply = ask(method, path, Some("teacher"))
        .json(body)
        .reply(routes)
        .await;
    let body = serde_json::from_slice(reply.body()).expect("JSON");
    (reply.status().as_u16(), body)
}

#[tokio::test]
async fn units_are_for_the_teacher_alone() {
    let routes = routes_with_sample();
    for (method, path, teacher) in [
        ("GET", "/unit", 200),
        ("GET", "/unit/larkfield-circuit", 200),
        ("GET", "/unit/other", 404),
        ("GET", "/api/units", 200),
        ("GET", NAME, 200),
        ("GET", "/api/units/other", 404),
        ("PUT", NAME, 400),
        ("POST", "/api/units/larkfield-circuit/trial", 400),
        ("GET", "/api/units/larkfield-circuit/setups", 200),
        ("GET", "/api/units/larkfield-circuit/grades/K", 200),
        ("GET", "/api/units/larkfield-circuit/grades/9", 404),
    ] {
        for (role, status) in ASKERS.into_iter().zip([teacher, 403, 403, 403, 401]) {
            let got = ask(method, path, role).reply(&routes).await.status();
            assert_eq!(got, status, "{method} {path} as {role:?}");
        }
    }
    for path in ["/api/units", NAME] {
        let refused = ask("DELETE", path, Some("teacher")).reply(&routes).await;
        assert_eq!(refused.status(), 405, "{path}");
    }
    let path = "/api/units/larkfield-circuit/other";
    assert_eq!(get(&routes, path).await.0, 404);
}

#[tokio::test]
async fn a_change_is_saved_against_its_version_and_a_clash_shows_both() {
    let routes = routes_with_sample();
    let (_, before) = get(&routes, NAME).await;
    let set = |version: &Value, title: &str| {
        let at = ["station", "beam", "title", "en"];
        json!({ "version": version, "edits": [{ "set": { "at": at, "to": title } }] })
    };
    let title = |body: &Value| body["document"]["station"][0]["title"]["en"].clone();
    let first = set(&before["version"], "Low beam");
    let (status, saved) = send(&routes, "PUT", NAME, &first).await;
    assert_eq!((status, title(&saved)), (200, json!("Low beam")));
    // Somebody else began from the version before.
    let (status, clash) = send(&routes, "PUT", NAME, &set(&before["version"], "Beam")).await;
    assert_eq!(status, 409);
    assert_eq!(clash["status"], 409);
    assert_eq!(title(&clash["theirs"]), "Low beam");
    assert_eq!(title(&clash["yours"]), "Beam");
    assert_eq!(title(&get(&routes, NAME).await.1), "Low beam");
    // And back to how it was.
    let back = json!({ "version": saved["version"], "restore": before["version"] });
    let (status, back) = send(&routes, "PUT", NAME, &back).await;
    assert_eq!((status, title(&back)), (200, json!("Beam walk")));
}

#[tokio::test]
async fn a_mistake_is_said_at_its_field_before_and_at_saving() {
    let routes = routes_with_sample();
    let (_, before) = get(&routes, NAME).await;
    let long = "Look at the very end of the beam";
    let at = ["station", "beam", "cue", "beam-eyes", "text", "en"];
    let asked = json!({ "version": before["version"], "grade": "2",
        "edits": [{ "set": { "at": at, "to": long } }] });
    let (status, tried) = send(&routes, "POST", &format!("{NAME}/trial"), &asked).await;
    assert_eq!((status, &tried["notes"][0]["at"]), (200, &json!(at)));
    assert_eq!(tried["room"], Value::Null);
    let (status, refused) = send(&routes, "PUT", NAME, &asked).await;
    assert_eq!((status, &refused["notes"]), (422, &tried["notes"]));
    assert_eq!(get(&routes, NAME).await.1["version"], before["version"]);
    let (status, refused) = send(
        &routes,
        "PUT",
        NAME,
        &json!({ "version": before["version"],
        "edits": [{ "remove": { "at": ["station", "nowhere"] } }] }),
    )
    .await;
    assert_eq!(status, 422, "{refused}");
}

#[tokio::test]
async fn what_a_grade_will_see_is_shown() {
    let routes = routes_with_sample();
    let levels = |room: &Value| room["stations"][0]["levels"].as_array().map(Vec::len);
    let (_, young) = get(&routes, &format!("{NAME}/grades/K")).await;
    let (_, old) = get(&routes, &format!("{NAME}/grades/3")).await;
    assert_eq!((levels(&young), levels(&old)), (Some(2), Some(4)));
    // Nobody has recorded that the rope is allowed.
    assert!(
        young["stations"]
            .as_array()
            .unwrap()
            .iter()
            .all(|one| one["id"] != "rope")
    );
    let (_, steps) = get(&routes, &format!("{NAME}/setups")).await;
    assert_eq!(steps[0]["grades"][0], "K");
    assert_eq!(steps[1]["from_the_one_before"][0]["station"], "beam");
}

#[tokio::test]
async fn only_a_unit_may_be_large() {
    let routes = routes_with_sample();
    let large = |bytes: usize| json!({ "version": " ".repeat(bytes) });
    let send = |method, path, bytes| {
        let asked = ask(method, path, Some("teacher")).json(&large(bytes));
        let routes = routes.clone();
        async move { asked.reply(&routes).await.status().as_u16() }
    };
    assert_eq!(send("PUT", NAME, 100 * 1024).await, 409);
    assert_eq!(send("PUT", NAME, 300 * 1024).await, 413);
    assert_eq!(send("PATCH", "/api/stations/1", 100 * 1024).await, 413);
}

/// A sentence of the checker as a page of a language says it.
fn said(sentence: &Value, language: words::Language) -> String {
    let id = format!("live-check-{}", sentence["id"].as_str().expect("text"));
    let mut text = language.words().get(&id).to_owned();
    assert_ne!(text, id, "{id} has a sentence in {language:?}");
    for (name, value) in sentence["values"].as_object().expect("values") {
        text = text.replace(&format!("{{{name}}}"), value.as_str().expect("text"));
    }
    let open = text.split('{').skip(1);
    let left = open.filter(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase()));
    assert_eq!(left.count(), 0, "nothing is left to be filled in: {text}");
    text
}

#[test]
fn what_is_wrong_with_a_unit_is_said_in_every_language() {
    // What a terminal is told at more length, since no field stands beside it.
    const LONGER: [&str; 9] = [
        "missing",
        "unknown-key",
        "no-such-name",
        "grades-beyond",
        "no-grades",
        "no-id",
        "no-number",
        "add-amount",
        "add",
    ];
    let fifty = include_bytes!("../../units/tests/fifty.toml");
    let report = crate::units::parse("fifty.toml", fifty).expect_err("it is full of mistakes");
    let mut english_only = Vec::new();
    for found in report.diagnostics() {
        for sentence in [&found.message, &found.fix] {
            let sentence = serde_json::to_value(sentence).expect("plain data");
            if sentence["id"] == "" {
                english_only.push(sentence["english"].to_string());
                continue;
            }
            let [english, spanish] = words::Language::ALL.map(|one| said(&sentence, one));
            assert_ne!(english, spanish);
            // The two places where English stands say the same.
            let id = sentence["id"].as_str().expect("text");
            let terminal = sentence["english"].as_str().expect("text");
            if !LONGER.contains(&id) {
                assert_eq!(english.to_lowercase(), terminal.to_lowercase(), "{id}");
            }
        }
    }
    // What only a text editor can bring about.
    assert!(english_only.len() <= 10, "{english_only:#?}");
}
