//! What a board of the hall may see, and that it is nothing else.

use super::table::TABLE;
use super::*;

/// What the camera of another place is refused, a board of the hall is refused
/// too; what it sees is the board and no picture.
#[tokio::test]
async fn a_board_of_the_hall_gets_the_board_and_nothing_else() {
    let routes = routes(&app());
    for (path, methods, statuses) in TABLE {
        let Some(methods) = methods.filter(|_| *path != "/hall") else {
            continue;
        };
        for method in methods {
            let asked = ask(method, path, Some("hall")).json(&json!({ "delay_ms": 4_000 }));
            let got = asked.reply(&routes).await.status();
            assert_eq!(got, statuses[3], "{method} {path}");
        }
    }
    let page = ask("GET", "/hall", Some("hall")).reply(&routes).await;
    assert_eq!(page.status(), 200);
    for (path, status) in [("/api/hall/view", 101), ("/api/stations/1/view", 403)] {
        let answer = handshake(path, Some("hall")).reply(&routes).await;
        assert_eq!(answer.status(), status, "{path}");
    }
}

/// How it is let in, and where it then goes.
#[tokio::test]
async fn a_teacher_lets_a_screen_in_for_the_whole_hall() {
    let routes = routes(&app());
    let waits = ask("POST", "/api/pairing", None).reply(&routes).await;
    let said: Value = serde_json::from_slice(waits.body()).unwrap();
    let code = said["code"].as_str().expect("it waits").to_owned();
    let cookie = waits.headers()["set-cookie"].to_str().unwrap();
    let cookie = cookie.split(';').next().unwrap().to_owned();
    let form = format!("do=let-in&code={code}&station=hall");
    let asked = ask("POST", "/screens", Some("teacher")).body(form);
    let answer = asked.reply(&routes).await;
    assert_eq!(answer.status(), 200);
    let asked = ask("GET", "/api/pairing", None).header("cookie", cookie);
    let said: Value = serde_json::from_slice(asked.reply(&routes).await.body()).unwrap();
    assert_eq!(said, json!({ "state": "approved", "go": "/hall" }));
    // It is told its session when it asks, and is in the list from then on.
    let list = ask("GET", "/screens", Some("teacher")).reply(&routes).await;
    let page = String::from_utf8_lossy(list.body()).into_owned();
    assert!(page.contains("Board for the whole hall</span>"), "{page}");
}
