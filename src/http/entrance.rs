//! Everybody comes in through here: the door, with what it needs from the world
//! around it (a clock, a place to hash aside, somebody who keeps its state).
//!
//! Not here: any rule of the door's, or what its pages look like.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use afterturn_core::kernel::CaptureUs;
use tokio::{
    sync::{Semaphore, watch},
    task::spawn_blocking,
};
use warp::http::{HeaderMap, header};

use super::{Kind, Problem};
use crate::av::camera::NowFn;
use crate::door::{
    Arrival, Door, Grant, Guesser, Hash, Kept, Listener, Pass, Role, Token, Wait, What, hash,
    verify,
};

/// What a browser on the box itself may do without signing in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ThisMachine {
    /// Nothing.
    SignsIn,
    /// See every station's pictures.
    Watches,
    /// Everything: the demo, which has no children in it.
    IsTheTeacher,
}

/// See the module.
pub struct Entrance {
    door: Mutex<Door>,
    now: NowFn,
    this_machine: ThisMachine,
    /// Told when somebody was let in or sent away.
    changed: watch::Sender<()>,
    /// One passphrase at a time: a flood of guesses must not take the processor
    /// from the pictures.
    hashing: Semaphore,
}

/// The cookie with a session's token. Browsers keep cookies by host whatever
/// the port, so each way has a name of its own, and what was given over HTTPS is
/// never sent without it: a browser holds `__Host-` to that (RFC 6265bis §4.1.3).
const fn session_name(listener: Listener) -> &'static str {
    match listener {
        Listener::Here => "afterturn",
        Listener::Secure => "__Host-afterturn",
        Listener::PlainScreens => "afterturn-screen",
    }
}

/// The one of a device that waits to be let in.
const fn waiting_name(listener: Listener) -> &'static str {
    match listener {
        Listener::Here => "afterturn-waiting",
        Listener::Secure => "__Host-afterturn-waiting",
        Listener::PlainScreens => "afterturn-screen-waiting",
    }
}

impl Entrance {
    /// An entrance with a door as it was left.
    #[must_use]
    pub fn new(kept: Kept, this_machine: ThisMachine, now: NowFn) -> Arc<Self> {
        Arc::new(Self {
            door: Mutex::new(Door::new(kept)),
            now,
            this_machine,
            changed: watch::Sender::new(()),
            hashing: Semaphore::new(1),
        })
    }

    /// Told when somebody was let in or sent away, and when there is something
    /// to keep.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    /// What is to be kept, if that has changed.
    pub fn take_unkept(&self) -> Option<Kept> {
        self.door().take_unkept()
    }

    /// The code of the first run, to be shown on the machine's own console.
    #[must_use]
    pub fn first_code(&self) -> Option<String> {
        self.door().first_code().map(ToOwned::to_owned)
    }

    /// Who a request comes from.
    pub(super) fn who(&self, headers: &HeaderMap, arrival: &Arrival) -> Option<Pass> {
        let now = self.now();
        let listener = arrival.listener;
        if let Some(token) = cookie(headers, session_name(listener))
            && let Some(pass) = self.door().pass(&token, now)
            && listener.lets_in(pass.grant.role())
        {
            return Some(pass);
        }
        let grant = match self.this_machine {
            _ if listener != Listener::Here => return None,
            _ if !arrival.peer.is_loopback() => return None,
            ThisMachine::SignsIn => return None,
            ThisMachine::Watches => Grant::ThisMachine,
            ThisMachine::IsTheTeacher => Grant::Teacher,
        };
        Some(Pass {
            session: None,
            grant,
        })
    }

    /// Who a program comes from that shows its key with each request (RFC 6750
    /// §2.1): a camera, and nobody else. No browser does that by itself.
    pub(super) fn by_key(&self, headers: &HeaderMap, arrival: &Arrival) -> Option<Pass> {
        let shown = headers.get(header::AUTHORIZATION)?.to_str().ok()?;
        let (scheme, key) = shown.split_once(' ')?;
        if !scheme.eq_ignore_ascii_case("bearer") {
            return None;
        }
        let pass = self
            .door()
            .pass(&Token::from_text(key.trim()), self.now())?;
        let camera = pass.grant.role() == Role::Camera;
        (camera && arrival.listener.lets_in(Role::Camera)).then_some(pass)
    }

    /// What somebody who was let in may still do.
    pub(super) fn still(&self, pass: Pass) -> Option<Grant> {
        match pass.session {
            Some(id) => self.door().grant(id, self.now()),
            None => Some(pass.grant),
        }
    }

    /// Works on the door, and has told everybody afterwards if that left anything
    /// to keep: a guess that has to wait, or a screen that asks how it stands, is
    /// nobody's news.
    pub(super) fn with<T>(&self, work: impl FnOnce(&mut Door, CaptureUs) -> T) -> T {
        let now = self.now();
        let (done, news) = {
            let mut door = self.door();
            let done = work(&mut door, now);
            (done, door.has_unkept())
        };
        if news {
            self.changed.send_replace(());
        }
        done
    }

    /// A guess at the passphrase or the PIN: a session, or why not.
    pub(super) async fn sign_in(
        &self,
        what: What,
        typed: String,
        who: Guesser,
    ) -> Result<Token, Problem> {
        self.compare(what, typed, who).await?;
        Ok(self.with(|door, now| door.sign_in(what, who, now)))
    }

    /// The same of somebody who is signed in already, and asked again.
    pub(super) async fn is_right(
        &self,
        what: What,
        typed: String,
        who: Guesser,
    ) -> Result<(), Problem> {
        self.compare(what, typed, who).await?;
        self.with(|door, _| door.was_right(what, who));
        Ok(())
    }

    async fn compare(&self, what: What, typed: String, who: Guesser) -> Result<(), Problem> {
        let place = self.hashing.acquire().await;
        let kept = self.with(|door, now| door.guess(what, who, now))?;
        // Hashed in any case: how long it takes must not tell what is set.
        let compared = spawn_blocking(move || {
            let Some(kept) = kept else {
                let _ = hash(&typed);
                return (false, None);
            };
            let right = verify(&typed, &kept);
            let renewed = (right && kept.is_outdated()).then(|| (kept, hash(&typed)));
            (right, renewed)
        });
        let (right, renewed) = compared.await.unwrap_or_default();
        drop(place);
        if let Some((old, new)) = renewed {
            self.with(|door, _| door.rehash(what, &old, new));
        }
        if right {
            return Ok(());
        }
        tracing::warn!(?what, "wrong guess");
        Err(wrong())
    }

    /// Hashes a new secret aside.
    pub(super) async fn hash(&self, text: String) -> Result<Hash, Problem> {
        let place = self.hashing.acquire().await;
        let hashed = spawn_blocking(move || hash(&text)).await;
        drop(place);
        hashed.map_err(|_| Problem::new(Kind::Broken, "the passphrase could not be hashed"))
    }

    /// The token of a device that waits.
    pub(super) fn waiting(headers: &HeaderMap, listener: Listener) -> Option<Token> {
        cookie(headers, waiting_name(listener))
    }

    fn door(&self) -> MutexGuard<'_, Door> {
        self.door.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn now(&self) -> CaptureUs {
        (self.now)()
    }
}

/// The answer to every wrong guess, whatever was wrong.
pub(super) fn wrong() -> Problem {
    Problem::new(Kind::Unknown, "that is not right; try again")
}

impl From<Wait> for Problem {
    fn from(wait: Wait) -> Self {
        Self {
            wait_s: Some(wait.seconds),
            ..Self::new(Kind::TooMany, wait.to_string())
        }
    }
}

/// Gives a browser its session, and takes the token it waited with.
pub(super) fn session_cookies(token: &Token, listener: Listener) -> [String; 2] {
    [
        set(session_name(listener), token.expose(), MONTHS_S, listener),
        set(waiting_name(listener), "", 0, listener),
    ]
}

/// Takes a browser's session away.
pub(super) fn no_session_cookies(listener: Listener) -> [String; 2] {
    [
        set(session_name(listener), "", 0, listener),
        set(waiting_name(listener), "", 0, listener),
    ]
}

/// Gives a device its place in the waiting row.
pub(super) fn waiting_cookie(token: &Token, listener: Listener) -> String {
    set(waiting_name(listener), token.expose(), WAITING_S, listener)
}

/// The browser keeps it for as long as a screen may last; how long it opens
/// anything is the door's to say.
const MONTHS_S: u32 = 120 * 24 * 3600;
const WAITING_S: u32 = 600;

fn set(name: &str, value: &str, seconds: u32, listener: Listener) -> String {
    let secure = match listener {
        Listener::Secure => "; Secure",
        Listener::Here | Listener::PlainScreens => "",
    };
    format!("{name}={value}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{secure}")
}

fn cookie(headers: &HeaderMap, name: &str) -> Option<Token> {
    let all = headers.get_all(header::COOKIE).into_iter();
    all.filter_map(|value| value.to_str().ok())
        .flat_map(|text| text.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(found, _)| *found == name)
        .map(|(_, value)| Token::from_text(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use warp::http::HeaderValue;

    const WAYS: [Listener; 3] = [Listener::Here, Listener::Secure, Listener::PlainScreens];

    #[test]
    fn a_cookie_is_found_among_others() {
        let mut headers = HeaderMap::new();
        headers.append(
            header::COOKIE,
            HeaderValue::from_static("a=1; afterturn=xyz"),
        );
        headers.append(
            header::COOKIE,
            HeaderValue::from_static("afterturn-waiting=w"),
        );
        assert_eq!(cookie(&headers, "afterturn"), Some(Token::from_text("xyz")));
        let waiting = Entrance::waiting(&headers, Listener::Here);
        assert_eq!(waiting, Some(Token::from_text("w")));
        assert_eq!(cookie(&headers, "other"), None);
    }

    #[test]
    fn cookies_are_out_of_reach_of_scripts_and_other_sites() {
        // OWASP ASVS 4.0.3 V3.4.2 and V3.4.3.
        for listener in WAYS {
            for cookie in session_cookies(&Token::new(), listener) {
                assert!(cookie.contains("; HttpOnly; SameSite=Strict"), "{cookie}");
            }
        }
    }

    #[tokio::test]
    async fn a_cheaper_hash_is_made_anew_at_the_next_right_guess_and_at_no_wrong_one() {
        use argon2::{Algorithm, Argon2, Params, PasswordHasher as _, Version};
        let words = "low beam, wide mat";
        let cost = Params::new(8, 1, 1, None).expect("a cost");
        let cheaper = Argon2::new(Algorithm::Argon2id, Version::V0x13, cost);
        let cheaper = cheaper.hash_password(words.as_bytes()).expect("a hash");
        let cheaper = serde_json::Value::from(cheaper.to_string());
        let mut door = Door::new(Kept::default());
        door.set_passphrase(serde_json::from_value(cheaper.clone()).expect("a text"));
        let kept = door.take_unkept().expect("a passphrase");
        let now: NowFn = Arc::new(|| CaptureUs(1_790_000_000_000_000));
        let entrance = Entrance::new(kept, ThisMachine::SignsIn, now);
        let guess = async |typed: &str| {
            let who = Guesser::of([127, 0, 0, 1].into(), None);
            let what = What::Passphrase;
            entrance.sign_in(what, typed.to_owned(), who).await.is_ok()
        };
        let kept = || {
            let kept = entrance.take_unkept().expect("each guess is kept");
            serde_json::to_value(&kept).expect("plain data")["passphrase"].clone()
        };
        assert!(!guess("another four words").await);
        assert_eq!(kept(), cheaper);
        assert!(guess(words).await);
        let renewed = kept();
        assert_ne!(renewed, cheaper);
        assert!(guess(words).await);
        assert_eq!(kept(), renewed, "once");
    }

    #[test]
    fn a_session_given_by_https_stays_with_https() {
        let given = |listener| session_cookies(&Token::new(), listener);
        // OWASP ASVS 4.0.3 V3.4.1 and V3.4.4; RFC 6265bis §4.1.3.2: the prefix
        // asks for Secure, the path / and no domain.
        for cookie in given(Listener::Secure) {
            assert!(cookie.starts_with("__Host-"), "{cookie}");
            assert!(cookie.ends_with("; Secure"), "{cookie}");
            assert!(cookie.contains("; Path=/;"), "{cookie}");
            assert!(!cookie.contains("Domain"), "{cookie}");
        }
        // And a browser that has all of them shows each way its own only.
        let mut names: Vec<String> = WAYS
            .into_iter()
            .flat_map(given)
            .map(|cookie| cookie.split('=').next().unwrap().to_owned())
            .collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), 6, "{names:?}");
    }
}
