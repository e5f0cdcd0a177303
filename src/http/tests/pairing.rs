//! What a waiting screen shows beside its code, and where that leads.

use super::{super::qr::qr_svg, trust::on_network, *};
use crate::door::{Guesser, Token};

/// A screen that waits: how it stands, and its cookie.
async fn waiting(app: &App) -> (Value, String) {
    let response = ask("POST", "/api/pairing", None).reply(&routes(app)).await;
    let cookie = response.headers()["set-cookie"].to_str().unwrap();
    let cookie = cookie.split(';').next().unwrap().to_owned();
    (serde_json::from_slice(response.body()).unwrap(), cookie)
}

async fn image(app: &App, cookie: &str, reached: &str) -> warp::http::Response<Bytes> {
    let arrival = Arrival {
        reached: reached.parse().unwrap(),
        ..arrival(Listener::Here)
    };
    let asked = ask("GET", "/api/pairing/qr", None).extension(arrival);
    asked.header("cookie", cookie).reply(&routes(app)).await
}

#[tokio::test]
async fn a_phone_is_led_to_the_page_by_number_with_the_code_behind_the_hash() {
    let (app, _) = on_network(true, 8443);
    let (standing, cookie) = waiting(&app).await;
    assert_eq!(standing["opens"], "https://192.168.4.1:8443/screens");
    let code = standing["code"].as_str().unwrap();
    for (reached, number) in [
        // On the box itself the likeliest of its addresses, on the network the
        // one that the screen itself has reached.
        ("127.0.0.1:8460", "192.168.4.1"),
        ("192.168.4.1:8443", "192.168.4.1"),
        ("[fd12::7]:8443", "[fd12::7]"),
    ] {
        let response = image(&app, &cookie, reached).await;
        assert_eq!(response.headers()["content-type"], "image/svg+xml");
        // Read by a reader that is not ours in the tests of `qr`. RFC 3986 §3.5:
        // what stands behind the `#` is not sent.
        let leads = format!("https://{number}:8443/screens#{code}");
        assert_eq!(*response.body(), qr_svg(&leads), "{reached}");
    }
    // However often it is looked at, the screen is let in.
    let station = 1_i64.try_into().expect("a good number");
    let approved = app.entrance.with(|door, now| {
        let who = Guesser::of([127, 0, 0, 1].into(), Some(pass("teacher")));
        door.approve(code, Grant::Screen { station }, who, now)
    });
    assert_eq!(approved, Ok(Ok(())));
    assert_eq!(image(&app, &cookie, "127.0.0.1:8460").await.status(), 404);
    let asked = ask("GET", "/api/pairing", None).header("cookie", &cookie);
    let response = asked.reply(&routes(&app)).await;
    let said: Value = serde_json::from_slice(response.body()).unwrap();
    assert_eq!(said["go"], "/tv/1");
}

#[tokio::test]
async fn whoever_does_not_wait_is_shown_no_code() {
    let (app, _) = on_network(true, 8443);
    let (_, cookie) = waiting(&app).await;
    let forged = format!("afterturn-waiting={}", Token::new().expose());
    let others = cookie.replace("afterturn-waiting", "afterturn-screen-waiting");
    for cookie in ["", &forged, &others] {
        let response = image(&app, cookie, "127.0.0.1:8460").await;
        assert_eq!(response.status(), 404, "{cookie}");
    }
}

#[tokio::test]
async fn off_the_network_there_is_the_code_alone() {
    let app = app();
    let (standing, cookie) = waiting(&app).await;
    assert_eq!(standing["opens"], Value::Null);
    assert!(
        standing["code"]
            .as_str()
            .is_some_and(|code| code.len() == 6)
    );
    assert_eq!(image(&app, &cookie, "127.0.0.1:8460").await.status(), 404);
}
