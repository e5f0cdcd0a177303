//! Asking for pictures once more: what is taken and what is refused. Who may is
//! in the table.

use super::*;

async fn post(app: &App, body: &str) -> warp::http::Response<Bytes> {
    let asked = ask("POST", "/api/stations/1/again", Some("helper")).body(body);
    asked.reply(&routes(app)).await
}

#[tokio::test]
async fn what_is_asked_is_answered_and_the_station_with_it() {
    let app = app();
    for asked in ["again", "hold", "step_back", "step_on", "go_on"] {
        let response = post(&app, &json!({ "ask": asked }).to_string()).await;
        assert_eq!(response.status(), 200, "{asked}");
        let said: Value = serde_json::from_slice(response.body()).unwrap();
        // Its camera never started.
        assert_eq!(said["answer"], "nothing", "{asked}");
        assert_eq!(said["station"]["number"], 1);
        assert_eq!(said["station"]["again"], Value::Null);
    }
}

#[tokio::test]
async fn what_makes_no_sense_is_refused() {
    let app = app();
    for body in [
        "",
        "rubbish",
        "{}",
        "null",
        "[]",
        "{\"ask\": \"Again\"}",
        "{\"ask\": \"rewind\"}",
        "{\"ask\": null}",
        "{\"ask\": \"again\", \"s\": 5}",
        "{\"order\": \"again\"}",
    ] {
        let response = post(&app, body).await;
        assert_eq!(response.status(), 400, "{body}");
        problem(&response);
    }
}
