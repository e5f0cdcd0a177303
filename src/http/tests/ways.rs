//! What goes by which way: everything by HTTPS and on the box itself, without
//! encryption on the network a screen's page and nothing else.

use super::*;

/// Asks past the socket, as by one of the ways.
fn by(listener: Listener, method: &str, path: &str, who: Asker) -> RequestBuilder {
    let asked = ask(method, path, who).extension(arrival(listener));
    asked.header("accept", "text/html")
}

#[tokio::test]
async fn without_encryption_there_are_screens_and_nothing_else() {
    let routes = routes(&app());
    for (method, path, who, status) in [
        // A screen: its page, its socket's path, the way to be let in.
        ("GET", "/tv/1", Some("screen"), 200),
        ("GET", "/tv/1", None, 303),
        ("GET", "/pair", None, 200),
        ("GET", "/", None, 303),
        ("POST", "/api/pairing", None, 200),
        ("GET", "/health", None, 200),
        ("GET", "/assets/style/base.css", None, 200),
        // No place to type a passphrase, or to be led to one.
        ("GET", "/sign-in", None, 403),
        ("POST", "/sign-in", None, 403),
        ("POST", "/sign-out", None, 403),
        ("GET", "/screens", None, 403),
        ("GET", "/remote", None, 401),
        ("GET", "/remote", Some("screen"), 403),
    ] {
        let response = by(Listener::PlainScreens, method, path, who);
        let response = response.reply(&routes).await;
        assert_eq!(response.status(), status, "{method} {path} as {who:?}");
        if let Some(to) = response.headers().get("location") {
            assert_eq!(to, "/pair", "{path}");
        }
    }
}

#[tokio::test]
async fn by_https_it_is_as_on_the_box_itself() {
    let routes = routes(&app());
    for (path, who, status) in [
        ("/remote", Some("teacher"), 200),
        ("/sign-in", None, 200),
        ("/remote", None, 303),
        ("/tv/1", None, 303),
        ("/", None, 200),
    ] {
        for listener in [Listener::Secure, Listener::Here] {
            let response = by(listener, "GET", path, who).reply(&routes).await;
            assert_eq!(response.status(), status, "{path} by {listener:?}");
        }
    }
}
