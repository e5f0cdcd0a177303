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

    fn pass(&self, days: i64) {
        self.bench.0.lock().unwrap().1 += days * DAY_S;
    }

    fn leaf(&self) -> String {
        std::fs::read_to_string(self.dir.path().join("leaf-afterturn.local.pem")).unwrap()
    }
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
