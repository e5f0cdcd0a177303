//! The page that lets a device trust the box.

use super::*;
use crate::door::certificate::{Authority, LEAST_NOW_S, Names};

/// The app on the network, with an authority of its own or without.
pub(super) fn on_network(own: bool, port: u16) -> (App, Authority) {
    let authority = Authority::make("gym.local", LEAST_NOW_S).unwrap();
    let addresses = ["127.0.0.1", "192.168.4.1", "fd12::7"];
    let names = Names::new("gym.local", addresses.iter().map(|a| a.parse().unwrap()));
    let issued = authority.issue(&names, LEAST_NOW_S).unwrap();
    let public = own.then(|| authority.public());
    let shown = Shown::new(issued.credential, names, public).unwrap();
    let (_, shown) = watch::channel(Arc::new(shown));
    (app().on_network(shown, port), authority)
}

async fn get(app: &App, path: &str) -> warp::http::Response<Bytes> {
    ask("GET", path, None).reply(&routes(app)).await
}

async fn page(app: &App, path: &str) -> String {
    let response = get(app, path).await;
    assert_eq!(response.status(), 200);
    String::from_utf8(response.body().to_vec()).unwrap()
}

#[tokio::test]
async fn it_shows_what_to_compare_fetch_and_open() {
    let (app, authority) = on_network(true, 8443);
    for language in ["en", "es"] {
        let page = page(&app, &format!("/trust?lang={language}")).await;
        let fingerprint = authority.public().fingerprint;
        let shown: String = page.split("id=\"fingerprint\"").nth(1).unwrap().to_owned();
        let shown = shown.split("</p>").next().unwrap();
        let shown: Vec<&str> = shown
            .split("<span>")
            .skip(1)
            .map(|part| part.split('<').next().unwrap())
            .collect();
        assert_eq!(shown.join(":"), fingerprint);
        for part in [
            "https://gym.local:8443/",
            "https://192.168.4.1:8443/",
            "https://[fd12::7]:8443/",
            "/trust/afterturn.crt",
            "2036-",
        ] {
            assert!(page.contains(part), "{language}: {part}");
        }
        // Only the box itself gets anywhere by its loopback address.
        assert!(!page.contains("127.0.0.1"));
        assert!(
            !page.contains("{name}") && !page.contains(" style="),
            "{page}"
        );
        // A sentence that is missing shows its id.
        assert!(!page.contains(">trust-"), "{language}");
    }
    let (app, _) = on_network(true, 443);
    assert!(
        page(&app, "/trust")
            .await
            .contains("\"https://gym.local/\"")
    );
}

#[tokio::test]
async fn the_certificate_comes_as_the_bytes_that_were_signed() {
    let (app, authority) = on_network(true, 8443);
    for (path, kind, body) in [
        (
            "/trust/afterturn.crt",
            "application/x-x509-ca-cert",
            authority.public().der,
        ),
        (
            "/trust/afterturn.pem",
            "application/x-pem-file",
            authority.public().pem.into_bytes(),
        ),
    ] {
        let response = get(&app, path).await;
        assert_eq!(response.headers()["content-type"], kind);
        assert_eq!(response.body(), &body, "{path}");
    }
    for path in [
        "/trust/afterturn.key",
        "/trust/authority-gym.local.pem",
        "/trust/",
    ] {
        let body = get(&app, path).await.into_body();
        assert!(
            !String::from_utf8_lossy(&body).contains("PRIVATE"),
            "{path}"
        );
    }
    assert_eq!(get(&app, "/trust/afterturn.key").await.status(), 404);
}

#[tokio::test]
async fn with_a_certificate_of_the_school_there_is_nothing_to_trust() {
    let (app, _) = on_network(false, 8443);
    let page = page(&app, "/trust").await;
    assert!(!page.contains("fingerprint") && page.contains("https://192.168.4.1:8443/"));
    assert_eq!(get(&app, "/trust/afterturn.crt").await.status(), 404);
}

#[tokio::test]
async fn the_front_page_shows_where_to_open_it_on_a_phone() {
    let (app, _) = on_network(true, 8443);
    let front = ask("GET", "/", Some("teacher")).reply(&routes(&app)).await;
    let page = String::from_utf8(front.body().to_vec()).unwrap();
    assert!(page.contains("https://192.168.4.1:8443/") && page.contains("class=\"qr\""));
    assert!(page.contains("href=\"/trust\""));
    // Without a network there is nothing to say of it.
    let front = ask("GET", "/", Some("teacher"))
        .reply(&routes(&super::app()))
        .await;
    let page = String::from_utf8(front.body().to_vec()).unwrap();
    assert!(!page.contains("/trust") && !page.contains("qr"));
}
