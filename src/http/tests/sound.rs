//! The teacher's files reach the page that is the speaker and nobody else; the
//! remote chooses; a change of the class asks the door.

use afterturn_core::wire::SoundPlace;
use warp::{filters::BoxedFilter, reply::Response};

use super::*;
use crate::sound::{Kept as SoundKept, Seat, Sound, Who};

const MUSIC: &[u8] = b"OggS\0 a made-up piece of music";

/// A gym with one file, and the board of the hall of that session as its speaker.
fn gym(session: u64) -> (App, Seat, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("March.mp3"), MUSIC).unwrap();
    let sound = Sound::open(Some(folder.path().to_owned()), SoundKept::default());
    let seat = sound.join(Who {
        session: Some(SessionId(session)),
        place: SoundPlace::Hall,
    });
    seat.speak();
    (app().with_sound(sound), seat, folder)
}

async fn get(
    routes: &BoxedFilter<(Response,)>,
    path: &str,
    range: Option<&str>,
) -> warp::http::Response<Bytes> {
    let mut asked = ask("GET", path, Some("hall"));
    if let Some(range) = range {
        asked = asked.header("range", range);
    }
    asked.reply(routes).await
}

#[tokio::test]
async fn the_speaker_gets_a_file_whole_and_in_part() {
    // The session of whoever asks in these tests.
    let (app, _seat, _folder) = gym(7);
    let routes = routes(&app);
    let whole = get(&routes, "/api/sound/files/1/0", None).await;
    assert_eq!((whole.status().as_u16(), &whole.body()[..]), (200, MUSIC));
    // By what it holds, whatever it is called (RFC 5334 §10).
    assert_eq!(whole.headers()["content-type"], "audio/ogg");
    assert_eq!(whole.headers()["accept-ranges"], "bytes");
    // RFC 9110 §14.2 and §15.3.7: so that a browser can go on in the middle.
    let part = get(&routes, "/api/sound/files/1/0", Some("bytes=6-9")).await;
    assert_eq!(
        (part.status().as_u16(), &part.body()[..]),
        (206, &MUSIC[6..10])
    );
    let range = format!("bytes 6-9/{}", MUSIC.len());
    assert_eq!(part.headers()["content-range"], range.as_str());
    let beyond = get(&routes, "/api/sound/files/1/0", Some("bytes=900-")).await;
    assert_eq!(beyond.status(), 416);
    // A place in a list and nothing else leads to a file.
    for path in [
        "2/0",
        "1/1",
        "1/-1",
        "1/March.mp3",
        "1/..%2f..%2fetc%2fpasswd",
    ] {
        let other = get(&routes, &format!("/api/sound/files/{path}"), None).await;
        assert_eq!(other.status(), 404, "{path}");
    }
}

#[tokio::test]
async fn another_page_gets_no_file() {
    let (app, seat, _folder) = gym(8);
    let routes = routes(&app);
    for (role, status) in ASKERS.into_iter().zip([403, 403, 403, 403, 401]) {
        let asked = ask("GET", "/api/sound/files/1/0", role);
        assert_eq!(asked.reply(&routes).await.status(), status, "{role:?}");
    }
    drop(seat);
    assert_eq!(
        get(&routes, "/api/sound/files/1/0", None).await.status(),
        403
    );
}

#[tokio::test]
async fn a_file_that_went_away_is_not_there() {
    let (app, _seat, folder) = gym(7);
    std::fs::remove_file(folder.path().join("March.mp3")).unwrap();
    let gone = get(&routes(&app), "/api/sound/files/1/0", None).await;
    assert_eq!(gone.status(), 404);
    problem(&gone);
}

#[tokio::test]
async fn those_who_run_the_class_choose_the_speaker_and_what_it_plays() {
    let (app, _seat, _folder) = gym(7);
    let routes = routes(&app);
    for (body, statuses) in [
        (json!({ "mode": "own" }), [200, 200, 403, 403, 401]),
        (json!({ "speaker": 0 }), [200, 200, 403, 403, 401]),
        (json!({ "speaker": 99 }), [422, 422, 403, 403, 401]),
        (json!({ "mode": "loud" }), [400, 400, 403, 403, 401]),
    ] {
        for (role, status) in ASKERS.into_iter().zip(statuses) {
            let asked = ask("PATCH", "/api/sound", role).json(&body);
            let got = asked.reply(&routes).await.status();
            assert_eq!(got, status, "{body} as {role:?}");
        }
    }
    let answer = ask("GET", "/api/sound", Some("helper"))
        .reply(&routes)
        .await;
    let said: Value = serde_json::from_slice(answer.body()).unwrap();
    assert_eq!(
        (&said["mode"], &said["standing"]),
        (&json!("own"), &json!("nobody"))
    );
}

#[tokio::test]
async fn a_quiet_class_and_a_refinement_are_set_by_those_who_run_it() {
    for (body, statuses) in [
        (
            json!({ "change": "quiet", "on": true }),
            [200, 200, 403, 403, 401],
        ),
        (
            json!({ "change": "station_quiet", "station": 2, "on": true }),
            [200, 200, 403, 403, 401],
        ),
        (
            json!({ "change": "station_quiet", "station": 9, "on": true }),
            [404, 404, 403, 403, 401],
        ),
        (
            json!({ "change": "refine", "cue": "hold_still" }),
            [200, 200, 403, 403, 401],
        ),
        (
            json!({ "change": "refine", "cue": "fly" }),
            [400, 400, 403, 403, 401],
        ),
    ] {
        for (role, status) in ASKERS.into_iter().zip(statuses) {
            let routes = routes(&app());
            let early = ask("POST", "/api/class/changes", Some("teacher"))
                .json(&json!({ "change": "quiet", "on": true }));
            assert_eq!(early.reply(&routes).await.status(), 422, "no class runs");
            super::class::started(&routes).await;
            let asked = ask("POST", "/api/class/changes", role).json(&body);
            assert_eq!(
                asked.reply(&routes).await.status(),
                status,
                "{body} as {role:?}"
            );
        }
    }
}
