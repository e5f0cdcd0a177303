//! What is kept, what is made anew, and when.

use std::sync::Mutex;

use super::*;
use crate::door::certificate::{Facts, LEAST_NOW_S};

const DAY_S: UnixSeconds = 86_400;

/// A machine whose cables and clock a test moves.
struct Bench(Mutex<(Vec<&'static str>, UnixSeconds)>);

impl Machine for Bench {
    fn addresses(&self) -> Vec<IpAddr> {
        let (addresses, _) = &*self.0.lock().unwrap();
        addresses.iter().map(|a| a.parse().unwrap()).collect()
    }

    fn now_s(&self) -> UnixSeconds {
        self.0.lock().unwrap().1
    }
}

struct Gym {
    dir: tempfile::TempDir,
    bench: Arc<Bench>,
}

impl Gym {
    fn new() -> Self {
        Self {
            dir: tempfile::tempdir().unwrap(),
            bench: Arc::new(Bench(Mutex::new((
                vec!["127.0.0.1", "192.168.4.1"],
                LEAST_NOW_S + DAY_S,
            )))),
        }
    }

    fn https(name: &str) -> HttpsSettings {
        HttpsSettings {
            listen: "0.0.0.0:8443".parse().unwrap(),
            name: name.to_owned(),
            own: None,
        }
    }

    fn open(&self) -> Certificates {
        self.open_as("afterturn.local")
    }

    fn open_as(&self, name: &str) -> Certificates {
        let machine: Arc<dyn Machine> = Arc::clone(&self.bench) as _;
        Certificates::open(&Self::https(name), Some(self.dir.path()), machine).unwrap()
    }

    fn cables(&self, addresses: &[&'static str]) {
        self.bench.0.lock().unwrap().0 = addresses.to_vec();
    }

    /// Somebody sets the clock, or its battery is empty.
    fn clock(&self, now_s: UnixSeconds) {
        self.bench.0.lock().unwrap().1 = now_s;
    }

    fn pass(&self, days: i64) {
        self.bench.0.lock().unwrap().1 += days * DAY_S;
    }

    fn leaf(&self) -> String {
        std::fs::read_to_string(self.dir.path().join("leaf-afterturn.local.pem")).unwrap()
    }
}

/// When the first of a text is good, from and to.
fn good(pem: &str) -> (UnixSeconds, UnixSeconds) {
    let der = pem::parse(pem).unwrap().into_contents();
    let facts = Facts::read(&der).unwrap();
    (facts.not_before_s, facts.not_after_s)
}

fn authority_of(certificates: &Certificates) -> String {
    let shown = certificates.shown();
    let shown = shown.borrow();
    shown.authority.as_ref().unwrap().fingerprint.clone()
}

#[test]
fn a_restart_finds_the_same_authority_and_the_same_leaf() {
    let gym = Gym::new();
    let first = authority_of(&gym.open());
    let leaf = gym.leaf();
    assert_eq!(authority_of(&gym.open()), first);
    assert_eq!(gym.leaf(), leaf);
}

#[test]
fn a_new_address_gets_a_new_leaf_of_the_same_authority() {
    let gym = Gym::new();
    let mut certificates = gym.open();
    let (authority, leaf) = (authority_of(&certificates), gym.leaf());
    let mut shown = certificates.shown();
    certificates.look().unwrap();
    assert!(!shown.has_changed().unwrap(), "nothing has changed");
    gym.cables(&["127.0.0.1", "10.0.0.9"]);
    certificates.look().unwrap();
    assert!(shown.has_changed().unwrap());
    let new: Vec<String> = shown
        .borrow_and_update()
        .addresses()
        .map(|a| a.to_string())
        .collect();
    assert_eq!(new, ["10.0.0.9"]);
    assert_ne!(gym.leaf(), leaf);
    assert_eq!(authority_of(&certificates), authority);
    // The cable is out: the leaf stays, the address is not offered any more.
    let leaf = gym.leaf();
    gym.cables(&["127.0.0.1"]);
    certificates.look().unwrap();
    assert_eq!(gym.leaf(), leaf);
    assert_eq!(shown.borrow().addresses().count(), 0);
}

#[test]
fn a_leaf_is_renewed_while_running_and_after_a_summer() {
    let gym = Gym::new();
    let mut certificates = gym.open();
    let mut leaf = gym.leaf();
    for days in [800, 900] {
        gym.pass(days);
        certificates.look().unwrap();
        assert_ne!(gym.leaf(), leaf);
        leaf = gym.leaf();
    }
    gym.pass(900);
    let authority = authority_of(&certificates);
    assert_eq!(authority_of(&gym.open()), authority);
    assert_ne!(gym.leaf(), leaf);
}

#[test]
fn another_name_is_another_authority_and_the_way_back_is_open() {
    let gym = Gym::new();
    let first = authority_of(&gym.open());
    assert_ne!(authority_of(&gym.open_as("gym.local")), first);
    assert_eq!(authority_of(&gym.open()), first);
}

#[test]
fn what_was_spoilt_on_the_disk_is_made_anew() {
    let gym = Gym::new();
    let first = authority_of(&gym.open());
    let file = |name: &str| gym.dir.path().join(name);
    std::fs::write(file("leaf-afterturn.local.pem"), "rubbish").unwrap();
    assert_eq!(authority_of(&gym.open()), first);
    assert!(gym.leaf().starts_with("-----BEGIN CERTIFICATE"));
    std::fs::write(file("authority-afterturn.local.pem"), "rubbish").unwrap();
    assert_ne!(authority_of(&gym.open()), first);
}

/// In use for two years, then an empty clock battery, a mistyped year, an hour
/// before the first start, or a date that no authority lasts to.
#[test]
fn an_authority_is_kept_and_used_whatever_the_date() {
    let gym = Gym::new();
    gym.pass(700);
    let real_s = gym.bench.now_s();
    let first = authority_of(&gym.open());
    let file = gym.dir.path().join("authority-afterturn.local.pem");
    let text = std::fs::read_to_string(&file).unwrap();
    for date_s in [
        real_s - 365 * DAY_S,
        real_s - 2 * DAY_S,
        LEAST_NOW_S - 40 * DAY_S,
        0,
        real_s + 2 * DAY_S,
        real_s + 3_000 * DAY_S,
        real_s + 20_000 * DAY_S,
    ] {
        gym.clock(date_s);
        let mut certificates = gym.open();
        assert_eq!(authority_of(&certificates), first, "{date_s}");
        certificates.look().unwrap();
        gym.clock(real_s);
        certificates.look().unwrap();
        assert_eq!(authority_of(&certificates), first, "{date_s}");
        let (from_s, to_s) = good(&gym.leaf());
        assert!(from_s <= real_s && real_s < to_s, "{date_s}");
    }
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn a_leaf_made_a_year_back_is_good_now_and_renewed_in_time() {
    let gym = Gym::new();
    gym.pass(700);
    let real_s = gym.bench.now_s();
    drop(gym.open());
    gym.clock(real_s - 365 * DAY_S);
    let mut certificates = gym.open();
    let leaf = gym.leaf();
    let (from_s, to_s) = good(&leaf);
    assert!(from_s <= real_s - 365 * DAY_S, "good by the box's own date");
    assert!(real_s + 60 * DAY_S < to_s, "and by everybody else's");
    gym.clock(real_s);
    certificates.look().unwrap();
    assert_eq!(gym.leaf(), leaf, "it does for now");
    gym.clock(to_s - 59 * DAY_S);
    certificates.look().unwrap();
    let (from_s, to_s) = good(&gym.leaf());
    assert!(from_s <= gym.bench.now_s() && gym.bench.now_s() + 800 * DAY_S < to_s);
    assert!(to_s - from_s <= 825 * DAY_S, "Apple takes no more");
}

/// A dead battery: what was good before is better than what such a date makes.
#[test]
fn a_clock_that_tells_nothing_is_no_reason_for_a_new_leaf() {
    let gym = Gym::new();
    gym.pass(2_000);
    let real_s = gym.bench.now_s();
    let authority = authority_of(&gym.open());
    let leaf = gym.leaf();
    for date_s in [0, real_s + 20_000 * DAY_S] {
        gym.clock(date_s);
        let mut certificates = gym.open();
        certificates.look().unwrap();
        assert_eq!(gym.leaf(), leaf, "{date_s}");
    }
    // A new address needs one all the same: as if it were the day of the last.
    gym.cables(&["10.0.0.9"]);
    let certificates = gym.open();
    assert_ne!(gym.leaf(), leaf);
    assert_eq!(authority_of(&certificates), authority);
    let (from_s, to_s) = good(&gym.leaf());
    assert!(from_s <= real_s && real_s + 800 * DAY_S < to_s);
}

#[test]
fn an_authority_made_with_a_clock_ahead_is_good_once_the_date_is_right() {
    let gym = Gym::new();
    let real_s = gym.bench.now_s();
    gym.pass(3_000);
    let mut certificates = gym.open();
    let authority = authority_of(&certificates);
    gym.clock(real_s);
    certificates.look().unwrap();
    assert_eq!(authority_of(&certificates), authority);
    assert_eq!(authority_of(&gym.open()), authority);
    let shown = certificates.shown();
    let pem = shown.borrow().authority.as_ref().unwrap().pem.clone();
    for (from_s, to_s) in [good(&pem), good(&gym.leaf())] {
        assert!(from_s <= real_s && real_s + 800 * DAY_S < to_s);
    }
}

#[test]
fn what_cannot_be_used_is_put_aside_and_never_erased() {
    let gym = Gym::new();
    let file = |name: &str| gym.dir.path().join(name);
    let authority = file("authority-afterturn.local.pem");
    drop(gym.open_as("gym.local"));
    let of_another = std::fs::read_to_string(file("authority-gym.local.pem")).unwrap();
    let mut written = vec!["half of a f".to_owned(), of_another, "rubbish".to_owned()];
    for text in &written {
        std::fs::write(&authority, text).unwrap();
        drop(gym.open());
        assert_ne!(&std::fs::read_to_string(&authority).unwrap(), text);
    }
    let all = std::fs::read_dir(gym.dir.path()).unwrap();
    let names = all.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let aside = names.filter(|name| name.starts_with("authority-afterturn.local.pem."));
    let mut kept: Vec<_> = aside
        .map(|name| std::fs::read_to_string(file(&name)).unwrap())
        .collect();
    kept.sort();
    written.sort();
    assert_eq!(kept, written);
}

#[test]
fn without_a_place_for_keys_there_is_no_https() {
    let gym = Gym::new();
    let machine: Arc<dyn Machine> = Arc::clone(&gym.bench) as _;
    let https = Gym::https("afterturn.local");
    let refused = |state_dir: Option<&Path>| {
        let opened = Certificates::open(&https, state_dir, Arc::clone(&machine));
        opened.err().expect("it is refused")
    };
    assert!(refused(None).contains("no state_dir"));
    let said = refused(Some(&gym.dir.path().join("none")));
    assert!(said.contains("cannot be kept"), "{said}");
    // What cannot be read is not written over.
    let path = gym.dir.path().join("authority-afterturn.local.pem");
    std::fs::create_dir(&path).unwrap();
    let said = refused(Some(gym.dir.path()));
    assert!(said.contains("cannot be read"), "{said}");
}

#[test]
fn the_schools_own_certificate_is_shown_and_followed() {
    let gym = Gym::new();
    let now_s = gym.bench.now_s();
    let write = |made_s| {
        let authority = Authority::make("gym.local", made_s).unwrap();
        let issued = authority.issue(&Names::new("gym.local", []), made_s);
        let text = issued.unwrap().to_pem();
        std::fs::write(gym.dir.path().join("own.pem"), &text).unwrap();
        let der = pem::parse(&text).unwrap().into_contents();
        Facts::read(&der).unwrap().not_after_s
    };
    write(now_s);
    let path = gym.dir.path().join("own.pem");
    let https = HttpsSettings {
        own: Some(OwnFiles {
            certificate: path.clone(),
            key: path.clone(),
            certificate_span: 0..0,
            key_span: 0..0,
        }),
        ..Gym::https("gym.local")
    };
    let machine: Arc<dyn Machine> = Arc::clone(&gym.bench) as _;
    let mut certificates = Certificates::open(&https, None, machine).unwrap();
    let mut shown = certificates.shown();
    assert!(shown.borrow_and_update().authority.is_none());
    certificates.look().unwrap();
    assert!(!shown.has_changed().unwrap());
    write(now_s + DAY_S);
    certificates.look().unwrap();
    assert!(
        shown.has_changed().unwrap(),
        "a renewed one is taken at once"
    );
    std::fs::write(&path, "half of a f").unwrap();
    assert!(certificates.look().is_err(), "a spoilt one is not");
}
