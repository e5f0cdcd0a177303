//! WHIP (RFC 9725) over the router, with a real UDP socket behind it.

use std::collections::BTreeSet;

use super::{
    table::{READ, Row},
    *,
};
use crate::av::{
    camera::{Camera, Running},
    whip::{Publishing, camera::WhipCamera},
};

/// The routes of publishers, beside all others.
pub(super) const TABLE: &[Row] = &[
    ("/camera", READ, [200, 403, 403, 303, 401]),
    ("/camera", None, [405; 5]),
    ("/camera/1", READ, [200, 403, 403, 200, 401]),
    ("/camera/1", None, [405; 5]),
    ("/camera/2", READ, [200, 403, 403, 403, 401]),
    ("/camera/9", READ, [404, 403, 403, 403, 401]),
    ("/camera/1/tv", READ, [200, 403, 403, 200, 401]),
    ("/camera/1/tv", None, [405; 5]),
    ("/camera/1/screen", Some(&METHODS), [404; 5]),
    // Both stations have cameras of another kind: see the tests of publishing.
    (
        "/api/stations/1/whip",
        Some(&["POST"]),
        [409, 403, 403, 409, 401],
    ),
    ("/api/stations/1/whip", Some(&["OPTIONS"]), [204; 5]),
    ("/api/stations/1/whip", None, [405; 5]),
    (
        "/api/stations/2/whip",
        Some(&["POST"]),
        [409, 403, 403, 403, 401],
    ),
    (
        "/api/stations/1/whip/7",
        Some(&["DELETE"]),
        [409, 403, 403, 409, 401],
    ),
    ("/api/stations/1/whip/7", Some(&["OPTIONS"]), [204; 5]),
    // RFC 9725 §4.3: neither trickling nor restarting is taken.
    ("/api/stations/1/whip/7", None, [405; 5]),
    (
        "/api/stations/1/publisher",
        Some(&["POST"]),
        [409, 403, 403, 409, 401],
    ),
    ("/api/stations/1/publisher", None, [405; 5]),
    ("/api/stations/1/whip/7/8", Some(&METHODS), [404; 5]),
    ("/api/stations/1/publisher/7", Some(&METHODS), [404; 5]),
];

/// What a browser offers that has one camera to send, H.264 alone; shortened.
const OFFER: &str = "v=0\r\no=- 46117 2 IN IP4 127.0.0.1\r\ns=-\r\nt=0 0\r\n\
    a=group:BUNDLE 0\r\na=msid-semantic: WMS\r\n\
    m=video 9 UDP/TLS/RTP/SAVPF 96\r\nc=IN IP4 0.0.0.0\r\na=rtcp:9 IN IP4 0.0.0.0\r\n\
    a=ice-ufrag:Yq2c\r\na=ice-pwd:8xJ2nRkF0kMZwq1yQmZr3nB0\r\na=ice-options:trickle\r\n\
    a=fingerprint:sha-256 7B:8B:F0:65:5F:78:E2:51:3B:AC:6F:F3:3F:46:1B:35:DC:B8:5F:64:1A:24:C2:43:\
F0:A1:58:D0:A1:2C:19:08\r\na=setup:actpass\r\na=mid:0\r\na=sendonly\r\na=msid:- beam\r\n\
    a=rtcp-mux\r\na=rtcp-rsize\r\na=rtpmap:96 H264/90000\r\na=rtcp-fb:96 nack\r\n\
    a=rtcp-fb:96 nack pli\r\na=fmtp:96 level-asymmetry-allowed=1;packetization-mode=1;\
profile-level-id=42e01f\r\na=ssrc:1001 cname:beam\r\n";

/// Station 1's camera is whoever publishes, station 2's is not.
struct Gym {
    app: App,
    _camera: Box<dyn Running>,
}

impl Gym {
    async fn open() -> Self {
        let publishing = Publishing::bind(([127, 0, 0, 1], 0).into());
        let publishing = publishing.await.expect("a free port");
        let station = 1_i64.try_into().expect("a good number");
        let mut camera = WhipCamera::new(publishing.clone(), station);
        let now = Arc::new(|| CaptureUs(1_790_000_000_000_000));
        let camera = camera.start(now, Arc::new(|_| {})).expect("it waits");
        let app = app().with_publishing(publishing, BTreeSet::from([station]));
        Self {
            app,
            _camera: camera,
        }
    }

    async fn posts(&self, who: Asker, kind: &str, body: &str) -> warp::http::Response<Bytes> {
        let asked = ask("POST", "/api/stations/1/whip", who);
        let asked = asked.header("content-type", kind).body(body);
        asked.reply(&routes(&self.app)).await
    }
}

fn at(response: &warp::http::Response<Bytes>) -> String {
    let at = response.headers().get("location").expect("a location");
    at.to_str().expect("a path").to_owned()
}

#[tokio::test]
async fn an_offer_is_answered_with_where_it_ends() {
    let gym = Gym::open().await;
    for who in [Some("camera"), Some("teacher")] {
        // One device after the other.
        let response = gym.posts(who, "application/sdp", OFFER).await;
        assert_eq!(response.status(), 201, "{:?}", response.body());
        // RFC 9725 §4.2.
        assert_eq!(response.headers()["content-type"], "application/sdp");
        let answer = std::str::from_utf8(response.body()).expect("text");
        assert!(answer.contains("m=video"), "{answer}");
        assert!(answer.contains("a=recvonly"), "{answer}");
        assert!(!answer.contains("m=audio"), "{answer}");
        let at = at(&response);
        let routes = routes(&gym.app);
        for method in ["GET", "PATCH", "POST", "PUT"] {
            let refused = ask(method, &at, who).reply(&routes).await;
            assert_eq!(refused.status(), 405, "{method}");
            assert_eq!(refused.headers()["allow"], "DELETE, OPTIONS");
        }
        // Twice, as somebody does whose first was lost.
        for _ in 0..2 {
            let ended = ask("DELETE", &at, who).reply(&routes).await;
            assert_eq!(ended.status(), 200);
        }
    }
    let names: BTreeSet<String> = [
        at(&gym.posts(Some("camera"), "application/sdp", OFFER).await),
        at(&gym.posts(Some("camera"), "application/sdp", OFFER).await),
    ]
    .into();
    assert_eq!(names.len(), 2, "an old address ends nothing new");
}

#[tokio::test]
async fn what_is_no_offer_is_refused_in_words() {
    let gym = Gym::open().await;
    let audio = OFFER
        .replace("m=video", "m=audio")
        .replace("H264/90000", "opus/48000/2");
    let without = OFFER.replace("H264/90000", "VP8/90000");
    for (kind, body, status) in [
        ("application/json", OFFER, 415),
        ("", OFFER, 415),
        ("application/sdp", "", 400),
        ("application/sdp", "v=0", 400),
        ("application/sdp", "<html>", 400),
        ("application/sdp", without.as_str(), 422),
        ("application/sdp", audio.as_str(), 422),
    ] {
        let refused = gym.posts(Some("camera"), kind, body).await;
        assert_eq!(refused.status(), status, "{kind} {body:.20}");
        let said: Value = serde_json::from_slice(refused.body()).expect("a problem");
        assert!(!said["detail"].as_str().expect("words").is_empty());
    }
    let long = format!("{OFFER}{}", "a=x\r\n".repeat(4_000));
    let refused = gym.posts(Some("camera"), "application/sdp", &long).await;
    assert_eq!(refused.status(), 413);
    // RFC 9725 §4.2, RFC 6838's type.
    let options = ask("OPTIONS", "/api/stations/1/whip", None);
    let options = options.reply(&routes(&gym.app)).await;
    assert_eq!(options.headers()["accept-post"], "application/sdp");
}

#[tokio::test]
async fn without_a_class_it_is_not_now() {
    let Gym {
        app,
        _camera: camera,
    } = Gym::open().await;
    drop(camera);
    let asked = ask("POST", "/api/stations/1/whip", Some("camera"));
    let asked = asked.header("content-type", "application/sdp").body(OFFER);
    let refused = asked.reply(&routes(&app)).await;
    assert_eq!(refused.status(), 503);
    // RFC 9725 §4.6 asks for it.
    assert!(refused.headers().contains_key("retry-after"));
}

#[tokio::test]
async fn a_publisher_is_told_how_it_stands() {
    let gym = Gym::open().await;
    let routes = routes(&gym.app);
    let standing = |body: Value| {
        let asked = ask("POST", "/api/stations/1/publisher", Some("camera")).json(&body);
        asked.reply(&routes)
    };
    let said = |response: warp::http::Response<Bytes>| -> Value {
        assert_eq!(response.status(), 200);
        serde_json::from_slice(response.body()).expect("JSON")
    };
    let before = said(standing(json!({})).await);
    assert_eq!(before["publisher"], Value::Null);
    assert_eq!(before["camera"], "off");
    assert_eq!(before["now_us"], 1_790_000_000_000_000_u64);
    let at = at(&gym.posts(Some("camera"), "application/sdp", OFFER).await);
    let id: u64 = at.rsplit('/').next().unwrap().parse().unwrap();
    let after = said(standing(json!({ "publisher": id, "ahead_us": -5 })).await);
    assert_eq!(after["publisher"], id);
    for rubbish in [json!(7), json!({ "publisher": "x" }), json!({ "who": 1 })] {
        assert_eq!(standing(rubbish).await.status(), 400);
    }
}

#[tokio::test]
async fn whoever_is_sent_away_is_cut() {
    let gym = Gym::open().await;
    let (stop, stopped) = watch::channel(false);
    let cutting = tokio::spawn(cut_leavers(gym.app.clone(), stopped));
    let station = 1_i64.try_into().expect("a good number");
    // A pass that the door knows nothing of, as after a removal.
    gym.posts(Some("camera"), "application/sdp", OFFER).await;
    let whip = gym.app.whip.as_ref().expect("it publishes");
    assert!(whip.current(station));
    for _ in 0..200 {
        gym.app.entrance.with(|door, _| door.close(SessionId(7)));
        if !whip.current(station) {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(20)).await;
    }
    assert!(!whip.current(station), "still publishing");
    stop.send_replace(true);
    cutting.await.expect("it ends");
}

#[tokio::test]
async fn a_key_opens_the_way_to_publish_and_nothing_else() {
    let gym = Gym::open().await;
    let asked = ask("POST", "/screens", Some("teacher")).body("do=key&station=1");
    let page = asked.reply(&routes(&gym.app)).await;
    let page = String::from_utf8(page.body().to_vec()).expect("a page");
    let key = page.split("id=\"key\">").nth(1).expect("a key");
    let key = key.split('<').next().expect("its end");
    let by = |listener, value: &str| {
        let mut headers = warp::http::HeaderMap::new();
        headers.insert("authorization", value.parse().expect("a header"));
        gym.app.entrance.by_key(&headers, &arrival(listener))
    };
    let pass = by(Listener::Here, &format!("Bearer {key}")).expect("let in");
    assert_eq!(pass.grant.role(), crate::door::Role::Camera);
    assert!(by(Listener::PlainScreens, &format!("Bearer {key}")).is_none());
    for value in [
        key.to_owned(),
        format!("Basic {key}"),
        "Bearer x".to_owned(),
    ] {
        assert!(by(Listener::Here, &value).is_none());
    }
    // Nor is a teacher's session a key.
    let teacher = gym
        .app
        .entrance
        .with(|door, now| door.open(Grant::Teacher, now));
    assert!(by(Listener::Here, &format!("Bearer {}", teacher.expose())).is_none());
}
