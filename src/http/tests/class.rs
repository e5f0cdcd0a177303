//! Who may start a class and press what.

use super::*;
use afterturn_core::rotation::{GroupNumber, Hands, Hold, Press, Readings, StationPlan};
use afterturn_core::wire::{ClassChange, InBoth, Order};

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

/// What a press does to what may be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shows {
    /// Less than the list allows.
    Less,
    /// What the list allows and nothing beyond, or nothing of the kind.
    AsAllowed,
    /// Perhaps more than the list allows, where it cannot tell.
    More,
}

const fn shown_by_press(press: Press) -> Shows {
    match press {
        Press::Hold { .. }
        | Press::Close { .. }
        | Press::CoverGroup { .. }
        | Press::Finish
        | Press::End => Shows::Less,
        Press::Next
        | Press::Back
        | Press::More
        | Press::Resume { .. }
        | Press::AccidentAt { .. }
        | Press::Open { .. } => Shows::AsAllowed,
    }
}

const fn shown_by_change(change: ClassChange) -> Shows {
    match change {
        ClassChange::Quiet { on: true } | ClassChange::StationQuiet { on: true, .. } => Shows::Less,
        ClassChange::Quiet { .. }
        | ClassChange::StationQuiet { .. }
        | ClassChange::Refine { .. } => Shows::AsAllowed,
    }
}

const fn shown_by_order(order: Order) -> Shows {
    match order {
        Order::DontShow | Order::Wipe | Order::CoverFromNow | Order::Pause => Shows::Less,
        Order::Uncover | Order::Resume | Order::CameraRight => Shows::AsAllowed,
    }
}

/// Everything that can be asked about what is seen, what it shows, and the body
/// that asks for it. The three above are exhaustive: what is new has to say.
fn asks_about_the_picture() -> Vec<(&'static str, Value, Shows)> {
    let station: StationNumber = 2_i64.try_into().unwrap();
    let mut all = Vec::new();
    let mut presses = vec![
        Press::Next,
        Press::Back,
        Press::More,
        Press::AccidentAt { station },
        Press::Close { station },
        Press::Open { station },
        Press::CoverGroup {
            group: GroupNumber::at(0),
        },
        Press::Finish,
        Press::End,
    ];
    for hold in Hold::ALL {
        presses.extend([Press::Hold { hold }, Press::Resume { hold }]);
    }
    let body = |press: &Press| json!({ "id": "a", "press": press });
    let of = |press: &Press| ("/api/class/presses", body(press), shown_by_press(*press));
    all.extend(presses.iter().map(of));
    for on in [true, false] {
        let changes = [
            ClassChange::Quiet { on },
            ClassChange::StationQuiet { station, on },
        ];
        let of = |change: ClassChange| {
            let body = match change {
                ClassChange::Quiet { on } => json!({ "change": "quiet", "on": on }),
                ClassChange::StationQuiet { on, .. } => {
                    json!({ "change": "station_quiet", "station": 2, "on": on })
                }
                ClassChange::Refine { .. } => json!({ "change": "refine", "cue": null }),
            };
            ("/api/class/changes", body, shown_by_change(change))
        };
        all.extend(changes.map(of));
    }
    let of = |order: Order| {
        let body = json!({ "order": order });
        ("/api/stations/1/orders", body, shown_by_order(order))
    };
    all.extend(Order::ALL.map(of));
    all.push(("/api/class/shown", json!({ "not_shown": [] }), Shows::More));
    all
}

#[tokio::test]
async fn what_shows_less_is_open_to_a_helper_and_what_shows_more_is_the_teachers() {
    let (mut less, mut more) = (0, 0);
    for (path, body, shows) in asks_about_the_picture() {
        let routes = routes(&app());
        started(&routes).await;
        let status = |role| {
            let asked = ask("POST", path, role).json(&body);
            let routes = &routes;
            async move { asked.reply(routes).await.status() }
        };
        let helper = status(Some("helper")).await;
        match shows {
            // Closing, finishing and leaving move the plan, which is the teacher's.
            Shows::Less if path.ends_with("presses") && helper == 403 => {
                let plan = body["press"]["press"]
                    .as_str()
                    .unwrap_or_default()
                    .to_owned();
                assert!(["close", "finish"].contains(&plan.as_str()), "{body}");
            }
            Shows::Less => {
                less += 1;
                assert_eq!(helper, 200, "{path} {body}");
            }
            Shows::AsAllowed => {}
            Shows::More => {
                more += 1;
                assert_eq!(helper, 403, "{path} {body}");
                assert_eq!(status(Some("teacher")).await, 200, "{path} {body}");
            }
        }
        for role in [Some("screen"), Some("camera")] {
            assert_eq!(status(role).await, 403, "{path} {body} as {role:?}");
        }
        assert_eq!(status(None).await, 401, "{path} {body}");
    }
    assert!(less >= 12 && more >= 1, "{less} show less, {more} more");
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
