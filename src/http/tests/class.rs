//! Who may start a class and press what.

use super::*;
use afterturn_core::rotation::{Hands, Hold, Readings, StationPlan};
use afterturn_core::wire::InBoth;

use crate::lesson::{LessonSettings, UnitInUse};
use warp::filters::BoxedFilter;
use warp::reply::Response;

/// A lesson over them that writes nothing down.
pub(in crate::http) fn lesson(stations: &[Arc<Station>]) -> Arc<Lesson> {
    let plan = |station: &Arc<Station>| StationPlan {
        number: station.config().number,
        setup: station.config().title.clone(),
        in_pairs: false,
        hands: Hands::None,
    };
    let plans: Vec<_> = stations.iter().map(plan).collect();
    Lesson::open(LessonSettings {
        stations: stations.to_vec(),
        setups: Arc::new(move |_, _| plans.clone()),
        in_words: Arc::new(|line| InBoth {
            en: line.to_owned(),
            es: line.to_owned(),
        }),
        unit: UnitInUse::default(),
        clocks: Arc::new(|| Readings {
            capture: CaptureUs(1_790_000_000_000_000),
            ..Readings::default()
        }),
        state_dir: None,
        heard_of: None,
        demo: false,
        list: None,
    })
}

fn press_of(press: &Value) -> Value {
    json!({ "id": "a", "press": press })
}

#[tokio::test]
async fn a_helper_keeps_the_class_going_and_the_teacher_leads_it() {
    let both = [200, 200, 403, 403, 401];
    let teacher = [200, 403, 403, 403, 401];
    let mut rows = vec![
        (json!({ "press": "next" }), both),
        (json!({ "press": "cover_group", "group": 1 }), both),
        (json!({ "press": "back" }), teacher),
        (json!({ "press": "more" }), teacher),
        (json!({ "press": "close", "station": 2 }), teacher),
        (json!({ "press": "open", "station": 2 }), teacher),
        (json!({ "press": "finish" }), teacher),
        // Whoever sees it presses it; whoever may start may end.
        (json!({ "press": "accident_at", "station": 2 }), both),
        (json!({ "press": "end" }), both),
    ];
    for hold in Hold::ALL {
        let cameras_go_on = matches!(hold, Hold::Leave | Hold::Accident);
        let resumes = if cameras_go_on { teacher } else { both };
        rows.push((json!({ "press": "hold", "hold": hold }), both));
        rows.push((json!({ "press": "resume", "hold": hold }), resumes));
    }
    for (press, statuses) in rows {
        for (role, status) in ASKERS.into_iter().zip(statuses) {
            let routes = routes(&app());
            started(&routes).await;
            // Something to go back to.
            let next = ask("POST", "/api/class/presses", Some("teacher"));
            let next = next.json(&json!({ "id": "n", "press": { "press": "next" } }));
            assert_eq!(next.reply(&routes).await.status(), 200);
            let asked = ask("POST", "/api/class/presses", role).json(&press_of(&press));
            let got = asked.reply(&routes).await.status();
            assert_eq!(got, status, "{press} as {role:?}");
        }
    }
}

pub(super) async fn started(routes: &BoxedFilter<(Response,)>) {
    let start = json!({ "id": "s", "class": "3B", "children": 12, "not_shown": [] });
    let asked = ask("POST", "/api/class/start", Some("helper")).json(&start);
    let response = asked.reply(routes).await;
    assert_eq!(response.status(), 200);
    let said: Value = serde_json::from_slice(response.body()).unwrap();
    assert_eq!(said["asks"], json!([]));
    assert_eq!(said["now"]["class"]["title"], "3B");
}

#[tokio::test]
async fn start_asks_which_groups_are_not_to_be_shown() {
    let routes = routes(&app());
    let start = json!({ "id": "s", "class": "3B", "children": 12 });
    let asked = ask("POST", "/api/class/start", Some("teacher")).json(&start);
    let said: Value = serde_json::from_slice(asked.reply(&routes).await.body()).unwrap();
    assert_eq!(
        (&said["asks"], &said["groups"]),
        (&json!(["not_shown"]), &json!(2))
    );
    assert_eq!(said["now"]["class"], Value::Null, "and nothing has begun");
}

#[tokio::test]
async fn what_cannot_be_done_is_said() {
    let routes = routes(&app());
    for (path, body, status) in [
        ("presses", press_of(&json!({ "press": "next" })), 422),
        ("presses", press_of(&json!({ "press": "dance" })), 400),
        (
            "presses",
            json!({ "id": "", "press": { "press": "next" } }),
            400,
        ),
        ("presses", press_of(&json!({ "press": "end" })), 200),
        (
            "start",
            json!({ "id": "s", "class": " ", "children": 9, "not_shown": [] }),
            422,
        ),
        (
            "start",
            json!({ "id": "s", "class": "3B", "children": 0, "not_shown": [] }),
            422,
        ),
        (
            "start",
            json!({ "id": "s", "class": "3B", "children": 9, "not_shown": [33] }),
            400,
        ),
        ("answer", json!({ "answer": "go_on" }), 200),
        ("cue", json!({ "station": 1, "cue": null }), 422),
        ("cue", json!({ "station": 1, "cue": "beam-eyes" }), 422),
        ("cue", json!({ "station": 9, "cue": null }), 404),
        // Another remote has answered.
        (
            "kept",
            json!({ "class": "3B", "station": 1, "what": "cue", "keep": "everybody" }),
            200,
        ),
        (
            "kept",
            json!({ "class": "3B", "station": 1, "what": "cue", "keep": "all" }),
            400,
        ),
    ] {
        let asked = ask("POST", &format!("/api/class/{path}"), Some("teacher"));
        let response = asked.json(&body).reply(&routes).await;
        assert_eq!(response.status(), status, "{path} {body}");
        if status != 200 {
            problem(&response);
        }
    }
}
