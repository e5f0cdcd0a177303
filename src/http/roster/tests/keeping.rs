//! From the mat to the file for the family, over the router itself, with real
//! pictures in the ring.

use std::sync::atomic::{AtomicU64, Ordering};

use afterturn_core::{
    kernel::DelayMs,
    rotation::{Crowd, Hands, Readings, StationPlan},
    wire::{ClassStart, InBoth, Order},
};

use super::*;
use crate::av::keep::tests::{START, stream};
use crate::lesson::{By, Lesson, LessonSettings, List, UnitInUse};
use crate::station::{Memory, Station, StationConfig};

const SECOND_US: u64 = 1_000_000;
const MAT: &str =
    r#"[{"x":2500,"y":2500},{"x":7500,"y":2500},{"x":7500,"y":7500},{"x":2500,"y":7500}]"#;

/// A gym with one station, a class of one group, and three seconds of pictures.
struct Gym {
    own: Box_,
    station: Arc<Station>,
    now: Arc<AtomicU64>,
    nora: String,
    ida: String,
}

fn a_lesson(station: &Arc<Station>, now: &Arc<AtomicU64>, vault: &Vault) -> Arc<Lesson> {
    let now = Arc::clone(now);
    Lesson::open(LessonSettings {
        stations: vec![Arc::clone(station)],
        setups: Arc::new(|_, _| {
            vec![StationPlan {
                number: 1.try_into().unwrap(),
                setup: "Mat".to_owned(),
                in_pairs: false,
                hands: Hands::None,
            }]
        }),
        in_words: Arc::new(|line| InBoth {
            en: line.to_owned(),
            es: line.to_owned(),
        }),
        unit: UnitInUse::default(),
        clocks: Arc::new(move || Readings {
            capture: CaptureUs(now.load(Ordering::Relaxed)),
            ..Readings::default()
        }),
        state_dir: None,
        heard_of: None,
        demo: false,
        list: Some(List {
            portfolio: Arc::clone(&vault.portfolio),
            today: Arc::new(|| TODAY),
        }),
    })
}

async fn start(lesson: &Lesson) {
    let asked = ClassStart {
        id: "s1".to_owned(),
        class: "2 Blue".to_owned(),
        grade: None,
        children: 2,
        groups: Some(1),
        not_shown: Some(Vec::new()),
        ticked: vec![1],
        as_it_stands: Vec::new(),
        camera_briefing: false,
        closed: Vec::new(),
        no_spotter: false,
        crowd: Crowd::Rest,
        anew: false,
        quiet: false,
        refine: None,
        times: None,
        lesson_s: None,
    };
    let started = lesson.start(&asked, By::Teacher).await.unwrap();
    assert_eq!(started.asks, []);
}

impl Gym {
    async fn open() -> Self {
        let now = Arc::new(AtomicU64::new(START.0 - 400 * SECOND_US));
        let clock = Arc::clone(&now);
        let clock = Arc::new(move || CaptureUs(clock.load(Ordering::Relaxed)));
        let config = StationConfig {
            number: 1.try_into().unwrap(),
            title: "Mat".to_owned(),
            delay: DelayMs::new(2000, 30_000).unwrap(),
            window_ms: 30_000,
            latency_ms: 0,
            demo: false,
        };
        let memory = Arc::new(Memory::new(100_000_000));
        let station = Station::new(config, Arc::clone(&clock) as _, &memory);
        station.set_attempt(2).unwrap();
        let portfolio = Portfolio::in_memory(Cost::LEAST, TODAY);
        let vault = Vault::new(portfolio, Arc::new(|| TODAY));
        let moment = vault.moment(CaptureUs(now.load(Ordering::Relaxed)));
        vault.portfolio.unlock(WORDS, moment).unwrap();
        let lesson = a_lesson(&station, &now, &vault);
        let (_, stop) = watch::channel(false);
        let entrance = Entrance::new(Kept::default(), ThisMachine::SignsIn, clock);
        entrance.with(|door, _| door.set_passphrase(hash(WORDS)));
        let stations = vec![Arc::clone(&station)];
        let app = App::new(stations, Arc::clone(&lesson), entrance, false, stop);
        let own = Box_ {
            routes: routes(&app.with_vault(vault.clone())),
            vault,
        };
        let children = own.children().await;
        start(&lesson).await;
        now.store(START.0 + 5 * SECOND_US, Ordering::Relaxed);
        let (params, pictures) = stream(90, 90);
        station.fill_one_chapter_for_a_test(params, pictures);
        let [nora, ida] = children;
        Self {
            own,
            station,
            now,
            nora,
            ida,
        }
    }

    /// Where a form leads.
    async fn led(&self, path: &str, fields: &[(&str, &str)]) -> String {
        let answer = self.own.post(path, fields).await;
        assert_eq!(answer.status, 303, "{}", answer.text);
        answer.to
    }

    /// Makes a clip or a still of Nora; where it can be looked at.
    async fn made(&self, what: &str) -> String {
        let path = format!("/roster/keep/1?what={what}");
        let offer = self.own.get(&path).await.to;
        let of = |name: &str| {
            let (_, rest) = offer.split_once(&format!("{name}=")).unwrap();
            rest.split(['&', '#']).next().unwrap().to_owned()
        };
        let (from, to) = (of("from"), of("to"));
        let fields = [
            ("do", "prepare"),
            ("what", what),
            ("from", &from),
            ("to", &to),
            ("child", &self.nora),
        ];
        self.led("/roster/keep/1", &fields).await
    }

    fn items(&self) -> usize {
        let moment = self
            .own
            .vault
            .moment(CaptureUs(self.now.load(Ordering::Relaxed)));
        self.own.vault.portfolio.items(moment).unwrap().len()
    }
}

impl Box_ {
    /// Nora, whose family says yes to everything, and Ida, whose does not.
    async fn children(&self) -> [String; 2] {
        self.post("/roster", &[("do", "choose"), ("rule", "opt-out")])
            .await;
        self.post("/roster", &[("do", "add-class"), ("title", "2 Blue")])
            .await;
        let class = self.link("/roster", "/roster/classes/").await;
        let mut ids = Vec::new();
        for given in ["Nora", "Ida"] {
            let child = [("do", "add-child"), ("given", given), ("group", "1")];
            assert_eq!(self.post(&class, &child).await.status, 303);
        }
        let page = self.get(&class).await.text;
        for given in ["Nora", "Ida"] {
            let before = page.split_once(&format!(">{given}<")).unwrap().0;
            let id = before.rsplit_once("/roster/children/").unwrap().1;
            ids.push(id.trim_end_matches('"').to_owned());
        }
        let child = format!("/roster/children/{}", ids[0]);
        for kind in ["stills", "clips", "shared"] {
            let fields = [
                ("do", "record"),
                ("kind", kind),
                ("answer", "yes"),
                ("from", "2026-11-01"),
                ("recorder", "Ms Hall"),
            ];
            assert_eq!(self.post(&child, &fields).await.status, 303);
        }
        ids.try_into().unwrap()
    }
}

#[tokio::test]
async fn a_clip_is_chosen_looked_at_and_only_then_kept() {
    let gym = Gym::open().await;
    let offer = gym.own.get("/roster/keep/1?what=clip").await.to;
    let page = gym.own.get(&offer).await;
    assert!(
        page.text.contains("/roster/mat/1\""),
        "the mat first: {}",
        page.text
    );
    assert!(!page.text.contains("name=\"child\""));
    let mat = gym
        .led("/roster/mat/1", &[("do", "mat"), ("corners", MAT)])
        .await;
    assert_eq!(mat, "/roster/mat/1?done=mat#mat");

    let page = gym.own.get(&offer).await.text;
    let choice = |id: &str| {
        let (_, rest) = page
            .split_once(&format!("value=\"{id}\""))
            .expect("a choice");
        rest.split_once('>').unwrap().0.to_owned()
    };
    assert_eq!(choice(&gym.nora), "");
    assert_eq!(
        choice(&gym.ida),
        " disabled",
        "who may not be kept cannot be chosen"
    );

    let look = gym.made("clip").await;
    let file = gym.own.link(&look, "/roster/made/").await;
    let clip = gym.own.get(&file).await;
    assert!(clip.status == 200 && clip.text.contains("ftypisom"));
    assert_eq!(gym.items(), 0, "nothing is kept yet");

    let token = file.trim_start_matches("/roster/made/").to_owned();
    let kept = gym
        .led("/roster/keep/1", &[("do", "keep"), ("made", &token)])
        .await;
    assert_eq!(gym.items(), 1);
    let page = gym.own.get(kept.split('#').next().unwrap()).await;
    assert!(page.text.contains("Nora") && page.text.contains("<video"));
    assert_eq!(gym.own.get(&file).await.status, 404, "it is not made twice");
    let again = gym
        .led("/roster/keep/1", &[("do", "keep"), ("made", &token)])
        .await;
    assert!(again.ends_with("done=gone#gone") && gym.items() == 1);
}

#[tokio::test]
async fn who_has_not_agreed_is_not_kept_whatever_a_form_says() {
    let gym = Gym::open().await;
    gym.led("/roster/mat/1", &[("do", "mat"), ("corners", MAT)])
        .await;
    let offer = gym.own.get("/roster/keep/1?what=still").await.to;
    let at = offer
        .split_once("from=")
        .unwrap()
        .1
        .split('&')
        .next()
        .unwrap()
        .to_owned();
    for (children, whole) in [
        (vec![], ""),
        (vec![&gym.ida], ""),
        (vec![&gym.nora, &gym.ida], ""),
        (vec![&gym.nora], "yes"),
    ] {
        let mut fields = vec![
            ("do", "prepare"),
            ("what", "still"),
            ("from", at.as_str()),
            ("to", at.as_str()),
            ("whole", whole),
        ];
        fields.extend(children.iter().map(|id| ("child", id.as_str())));
        let answer = gym.own.post("/roster/keep/1", &fields).await;
        assert_eq!(answer.status, 422, "{children:?} {whole}");
    }
    // Another time than any group's.
    let fields = [
        ("do", "prepare"),
        ("what", "clip"),
        ("from", "1795599000000000"),
        ("to", "1795600001000000"),
        ("child", &gym.nora),
    ];
    let answer = gym.own.post("/roster/keep/1", &fields).await;
    assert!(
        answer.status == 422 && answer.text.contains("what=clip&#38;from="),
        "{}",
        answer.text
    );
    assert_eq!(gym.items(), 0);
}

#[tokio::test]
async fn what_was_made_goes_with_a_wipe_and_with_time() {
    let gym = Gym::open().await;
    gym.led("/roster/mat/1", &[("do", "mat"), ("corners", MAT)])
        .await;
    for way in ["wipe", "discard", "time"] {
        if way != "wipe" {
            gym.now.fetch_add(10 * SECOND_US, Ordering::Relaxed);
            let (params, pictures) = stream(90, 90);
            let ahead = gym.now.load(Ordering::Relaxed) - START.0 - 5 * SECOND_US;
            let later = pictures
                .into_iter()
                .map(|one| afterturn_core::media::Fragment {
                    capture: one.capture.offset(ahead as i64),
                    ..one
                });
            gym.station
                .fill_one_chapter_for_a_test(params, later.collect());
        }
        let look = gym.made("still").await;
        let file = gym.own.link(&look, "/roster/made/").await;
        assert_eq!(gym.own.get(&file).await.status, 200, "{way}");
        match way {
            "wipe" => gym.station.order(Order::Wipe),
            "time" => {}
            _ => {
                let token = file.trim_start_matches("/roster/made/");
                gym.led("/roster/keep/1", &[("do", "discard"), ("made", token)])
                    .await;
            }
        }
        if way == "time" {
            gym.now.fetch_add(125 * SECOND_US, Ordering::Relaxed);
        }
        assert_eq!(gym.own.get(&file).await.status, 404, "{way}");
    }
    assert_eq!(gym.items(), 0);
}

#[tokio::test]
async fn the_family_gets_what_may_be_shared_and_a_no_takes_it_away() {
    let gym = Gym::open().await;
    gym.led("/roster/mat/1", &[("do", "mat"), ("corners", MAT)])
        .await;
    for what in ["still", "clip"] {
        let look = gym.made(what).await;
        let file = gym.own.link(&look, "/roster/made/").await;
        let token = file.trim_start_matches("/roster/made/");
        gym.led("/roster/keep/1", &[("do", "keep"), ("made", token)])
            .await;
    }
    assert_eq!(gym.items(), 2);
    let list = gym.own.get("/roster/kept?station=1").await.text;
    assert_eq!(list.matches("<li>").count(), 2);
    let none = gym.own.get("/roster/kept?station=9").await.text;
    assert_eq!(none.matches("<li>").count(), 0);
    let to = gym
        .led("/roster/export", &[("do", "export"), ("child", &gym.nora)])
        .await;
    let page = gym.own.get(to.split('#').next().unwrap()).await;
    let file = format!("/roster/export/{}", gym.nora);
    assert!(page.text.contains(&file));
    let zip = gym.own.get(&file).await;
    for part in [
        "index.html",
        "clip-1.mp4",
        "still-2.jpg",
        "Nora",
        "ftypisom",
    ] {
        assert!(zip.text.contains(part), "{part}");
    }
    // Locked, nothing of it can be read; by next to nothing, it is not made.
    let lock = async |passphrase| {
        let fields = [("file-passphrase", passphrase)];
        gym.own.post(&file, &fields).await
    };
    let sealed = lock("wide mat, low beam").await;
    assert!(sealed.text.contains("index.html") && sealed.text.starts_with("PK"));
    assert!(!sealed.text.contains("Nora") && !sealed.text.contains("ftypisom"));
    assert!(!sealed.text.contains("wide mat"));
    assert_eq!(lock("short").await.status, 422);
    let child = format!("/roster/children/{}", gym.nora);
    let held = gym.own.get(&child).await.text;
    assert_eq!(
        held.matches("/roster/kept/").count(),
        4,
        "a picture and two links"
    );
    let no = [
        ("do", "record"),
        ("kind", "stills"),
        ("answer", "no"),
        ("from", "2026-11-25"),
        ("recorder", "Ms Hall"),
    ];
    let to = gym.led(&child, &no).await;
    assert_eq!(to, format!("{child}?gone=1&done=record#record"));
    assert_eq!(gym.items(), 1);
    gym.led(&child, &[("do", "let-go"), ("sure", "yes")]).await;
    assert_eq!(gym.items(), 0);
    let log = gym.own.get("/roster/log").await.text;
    assert!(!log.contains("Nora") && log.matches("<tr>").count() > 6);
}
