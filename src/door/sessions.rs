//! Who is signed in: grants, each behind a token that only its browser has.
//!
//! Each kind of grant has places of its own, so that whoever signs in again and
//! again takes them from nobody but its like, and from its own device first.
//!
//! Not here: how one comes by a session (the passphrase, the PIN, pairing).

use std::net::IpAddr;

use afterturn_core::kernel::CaptureUs;
use serde::{Deserialize, Serialize};

use super::{
    Grant, Role,
    peer::greediest,
    token::{Token, TokenHash},
};

/// Names a session without opening it; counts up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SessionId(pub u64);

/// Who a request comes from, as far as the door is concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pass {
    /// Its session; none for somebody the door lets in without one, such as the
    /// demo's visitor.
    pub session: Option<SessionId>,
    /// What it was given.
    pub grant: Grant,
}

/// A session in the teacher's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Listed {
    /// Its name in the list.
    pub id: SessionId,
    /// What it was given.
    #[serde(flatten)]
    pub grant: Grant,
    /// When it was given.
    pub since_us: CaptureUs,
    /// When it was last used, to within [`USED_STEP_US`].
    pub used_us: CaptureUs,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Session {
    id: SessionId,
    token: TokenHash,
    grant: Grant,
    since: CaptureUs,
    used: CaptureUs,
    /// The device it was given to, where that was asking itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    device: Option<IpAddr>,
}

const HOUR_US: i64 = 3_600_000_000;
/// A teacher and a helper sign in each school day (ASVS 4.0.3 V3.3.2, level 2:
/// twelve hours at most).
const PERSON_LASTS_US: i64 = 12 * HOUR_US;
/// A person's browser that is not used: a phone left on a bench. ASVS says half
/// an hour; a teacher who looks at the children and not at the phone for one
/// lesson must not be locked out of "don't show".
const PERSON_IDLE_US: i64 = 2 * HOUR_US;
/// A screen hangs on a wall: it lasts until somebody removes it, or until it has
/// not been seen over the summer.
const SCREEN_IDLE_US: i64 = 120 * 24 * HOUR_US;
/// How exactly the last use is remembered: each step is a write to the disk.
pub(super) const USED_STEP_US: i64 = HOUR_US / 6;
/// Teachers of one gym, each with a phone, a tablet and a desk.
const MOST_TEACHERS: usize = 20;
/// A class of helpers, each with a phone.
const MOST_HELPERS: usize = 60;
/// Two at each of fifty stations, or boards of the hall.
const MOST_SCREENS: usize = 120;
/// Tablets that publish, and keys of programs.
const MOST_CAMERAS: usize = 60;
/// Sessions of people that one device may have in one role: browsers that were
/// closed without signing out, or some phones behind one router.
const MOST_OF_ONE_DEVICE: usize = 12;

/// What shares places, and how many there are.
const fn quota(grant: Grant) -> (Kind, usize) {
    match grant.role() {
        Role::Teacher => (Kind::Teacher, MOST_TEACHERS),
        Role::Helper => (Kind::Helper, MOST_HELPERS),
        Role::Screen | Role::HallBoard => (Kind::Screen, MOST_SCREENS),
        Role::Camera => (Kind::Camera, MOST_CAMERAS),
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Teacher,
    Helper,
    Screen,
    Camera,
}

impl Session {
    fn lasts_until(&self) -> CaptureUs {
        match self.grant {
            Grant::Teacher | Grant::Helper => self
                .since
                .offset(PERSON_LASTS_US)
                .min(self.used.offset(PERSON_IDLE_US)),
            Grant::Screen { .. } | Grant::HallBoard | Grant::Camera { .. } | Grant::ThisMachine => {
                self.used.offset(SCREEN_IDLE_US)
            }
        }
    }
}

/// See the module.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Sessions {
    next: u64,
    all: Vec<Session>,
}

impl Sessions {
    /// Opens one for a device; the token is for its browser alone.
    pub(super) fn open(
        &mut self,
        grant: Grant,
        device: Option<IpAddr>,
        now: CaptureUs,
    ) -> (SessionId, Token) {
        self.forget_old(now);
        self.make_place(grant, device);
        let (id, token) = (SessionId(self.next), Token::new());
        self.next += 1;
        self.all.push(Session {
            id,
            token: token.hash(),
            grant,
            since: now,
            used: now,
            device,
        });
        (id, token)
    }

    /// Lets the least recently used go: of the device's own where it has many,
    /// else of whoever has the most.
    fn make_place(&mut self, grant: Grant, device: Option<IpAddr>) {
        let (kind, most) = quota(grant);
        let person = matches!(kind, Kind::Teacher | Kind::Helper);
        loop {
            let like = |session: &&Session| quota(session.grant).0 == kind;
            let of_device = |session: &&Session| device.is_some() && session.device == device;
            let own = self.all.iter().filter(like).filter(of_device).count();
            let gone = if person && own >= MOST_OF_ONE_DEVICE {
                let own = self.all.iter().filter(like).filter(of_device);
                own.min_by_key(|session| session.used)
            } else if self.all.iter().filter(like).count() >= most {
                let like = self.all.iter().filter(like);
                greediest(like, |session| session.device, |session| session.used)
            } else {
                return;
            };
            let Some(gone) = gone.map(|session| session.id) else {
                return;
            };
            self.close(gone);
        }
    }

    /// Whose token this is. Says whether there is something new to keep.
    pub(super) fn pass(&mut self, token: &Token, now: CaptureUs) -> Option<(Pass, bool)> {
        let hash = token.hash();
        let session = self.all.iter_mut().find(|session| session.token == hash)?;
        if session.lasts_until() <= now {
            return None;
        }
        let news = now.since(session.used) >= USED_STEP_US;
        if news {
            session.used = now;
        }
        let pass = Pass {
            session: Some(session.id),
            grant: session.grant,
        };
        Some((pass, news))
    }

    /// Whether a session goes on, and what it may.
    pub(super) fn grant(&self, id: SessionId, now: CaptureUs) -> Option<Grant> {
        let session = self.all.iter().find(|session| session.id == id)?;
        (session.lasts_until() > now).then_some(session.grant)
    }

    /// Ends one; says whether there was one.
    pub(super) fn close(&mut self, id: SessionId) -> bool {
        let before = self.all.len();
        self.all.retain(|session| session.id != id);
        self.all.len() < before
    }

    /// Ends every one whose grant is such.
    pub(super) fn close_all(&mut self, such: impl Fn(Grant) -> bool) {
        self.all.retain(|session| !such(session.grant));
    }

    /// All that go on, in the order they were opened.
    pub(super) fn list(&self, now: CaptureUs) -> Vec<Listed> {
        let on = self.all.iter().filter(|s| s.lasts_until() > now);
        on.map(|session| Listed {
            id: session.id,
            grant: session.grant,
            since_us: session.since,
            used_us: session.used,
        })
        .collect()
    }

    fn forget_old(&mut self, now: CaptureUs) {
        self.all.retain(|session| session.lasts_until() > now);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: CaptureUs = CaptureUs(1_790_000_000_000_000);

    fn after(hours: i64) -> CaptureUs {
        NOW.offset(hours * HOUR_US)
    }

    fn screen() -> Grant {
        Grant::Screen {
            station: 1_i64.try_into().expect("a good number"),
        }
    }

    #[test]
    fn a_person_is_signed_in_for_a_school_day_and_not_while_away() {
        let mut sessions = Sessions::default();
        let (id, token) = sessions.open(Grant::Teacher, None, NOW);
        let mut used = 0;
        for hour in 1..=12 {
            used += i64::from(sessions.pass(&token, after(hour)).is_some());
        }
        assert_eq!(used, 11, "twelve hours after signing in it is over");
        assert_eq!(sessions.grant(id, after(11)), Some(Grant::Teacher));
        let (_, idle) = sessions.open(Grant::Helper, None, NOW);
        assert!(sessions.pass(&idle, after(2)).is_none());
    }

    #[test]
    fn a_screen_stays_over_the_summer_and_goes_when_removed() {
        let mut sessions = Sessions::default();
        let (id, token) = sessions.open(screen(), None, NOW);
        assert!(sessions.pass(&token, after(24 * 100)).is_some());
        assert!(sessions.close(id));
        assert!(!sessions.close(id));
        assert!(sessions.pass(&token, after(24 * 100)).is_none());
        assert_eq!(sessions.grant(id, NOW), None);
    }

    #[test]
    fn nobody_elses_token_opens() {
        let mut sessions = Sessions::default();
        sessions.open(Grant::Teacher, None, NOW);
        for forged in ["", "0", &"0".repeat(64), "' or 1=1"] {
            assert!(sessions.pass(&Token::from_text(forged), NOW).is_none());
        }
    }

    #[test]
    fn use_is_noted_in_steps_and_the_list_stays_short() {
        let mut sessions = Sessions::default();
        let (_, token) = sessions.open(screen(), None, NOW);
        let news = |sessions: &mut Sessions, s: i64| {
            let at = NOW.offset(s * 1_000_000);
            sessions.pass(&token, at).map(|(_, news)| news)
        };
        assert_eq!(news(&mut sessions, 10), Some(false));
        assert_eq!(news(&mut sessions, 601), Some(true));
        assert_eq!(news(&mut sessions, 700), Some(false));
        for _ in 0..500 {
            sessions.open(screen(), None, NOW);
        }
        assert_eq!(sessions.list(NOW).len(), MOST_SCREENS);
        assert_eq!(
            news(&mut sessions, 702),
            Some(false),
            "the one in use is not the one to go"
        );
    }

    fn device(last: u8) -> IpAddr {
        IpAddr::from([192, 168, 1, last])
    }

    #[test]
    fn a_device_that_signs_in_again_and_again_takes_its_own_places_first() {
        let mut sessions = Sessions::default();
        let (_, phone) = sessions.open(Grant::Helper, Some(device(1)), NOW);
        for _ in 0..220 {
            sessions.open(Grant::Helper, Some(device(9)), NOW.offset(1));
        }
        assert!(sessions.pass(&phone, NOW.offset(2)).is_some());
        assert_eq!(sessions.list(NOW).len(), 1 + MOST_OF_ONE_DEVICE);
    }

    #[test]
    fn addresses_of_one_network_take_each_others_places_first() {
        let mut sessions = Sessions::default();
        let (_, phone) = sessions.open(Grant::Helper, Some(device(1)), NOW);
        for n in 0..220 {
            let six = IpAddr::from([0xfd00, 0, 0, 1, 0, 0, 0, n]);
            sessions.open(Grant::Helper, Some(six), NOW.offset(1));
        }
        assert!(sessions.pass(&phone, NOW.offset(2)).is_some());
        assert_eq!(sessions.list(NOW).len(), MOST_HELPERS);
    }

    #[test]
    fn each_kind_has_places_of_its_own() {
        let station = 1_i64.try_into().expect("a good number");
        let kinds = [
            Grant::Teacher,
            Grant::Helper,
            screen(),
            Grant::HallBoard,
            Grant::Camera { station },
        ];
        for flood in kinds {
            let mut sessions = Sessions::default();
            let tokens = kinds.map(|grant| (grant, sessions.open(grant, None, NOW).1));
            for nth in 0..250 {
                sessions.open(flood, Some(device(nth)), NOW.offset(1));
            }
            for (grant, token) in tokens {
                let goes = quota(grant).0 == quota(flood).0;
                let on = sessions.pass(&token, NOW.offset(2)).is_some();
                assert_eq!(on, !goes, "{grant:?} after many of {flood:?}");
            }
        }
    }

    #[test]
    fn sessions_from_before_devices_were_noted_go_on() {
        let mut sessions = Sessions::default();
        let (_, token) = sessions.open(screen(), None, NOW);
        let text = serde_json::to_string(&sessions).expect("plain data");
        assert!(!text.contains("device"), "as it was written then: {text}");
        let mut again: Sessions = serde_json::from_str(&text).expect("its own text");
        assert!(again.pass(&token, NOW).is_some());
    }
}
