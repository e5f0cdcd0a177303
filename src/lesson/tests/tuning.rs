//! What a class has otherwise than planned, and what becomes of it.

use afterturn_core::{
    plan::lettering::Screen,
    rotation::TunedKind,
    wire::{KeepAsk, KeepFor, Language, Otherwise, ShowingPatch},
};

use super::*;
use crate::units::{SaveError, Sheets, Shelf};

const NAME: &str = "larkfield-circuit";
const SAMPLE: &str = include_str!("../../../config/units/larkfield-circuit.toml");

/// A gym of the sample's first two stations. The config file says 5 s; the unit
/// 10 s at the beam.
struct School {
    gym: Gym,
    units: TempDir,
    unit: UnitInUse,
}

impl School {
    fn open() -> Self {
        let units = tempfile::tempdir().unwrap();
        std::fs::write(units.path().join(format!("{NAME}.toml")), SAMPLE).unwrap();
        let mut school = Self {
            gym: Gym::open(2),
            units,
            unit: UnitInUse::default(),
        };
        school.reopen();
        school
    }

    /// The plug is pulled and put back at once.
    fn reopen(&mut self) {
        let screens = [1, 2].map(|n| (number(n), Screen::default()));
        let sheets = Sheets::new(screens.into());
        let units = Shelf::new(self.units.path().to_owned());
        sheets.follow(&units);
        let third = ShowingPatch {
            grade: Some(Some(3)),
            ..ShowingPatch::default()
        };
        sheets.choose(third).unwrap();
        self.unit = UnitInUse {
            sheets: Arc::new(sheets),
            units: Arc::new(units),
        };
        let settings = &self.gym.lesson.settings;
        self.gym.lesson = Lesson::open(LessonSettings {
            stations: self.gym.stations.clone(),
            setups: Arc::clone(&settings.setups),
            in_words: plain_words(),
            unit: self.unit.clone(),
            clocks: Arc::clone(&settings.clocks),
            state_dir: Some(self.gym.folder.path().to_owned()),
            heard_of: None,
            demo: false,
            list: None,
        });
    }

    async fn start(&self, class: &'static str) {
        let start = self.gym.start(|asked| {
            class.clone_into(&mut asked.class);
            asked.grade = Some(3);
            asked.anew = true;
        });
        start.await.unwrap();
    }

    async fn end(&self) {
        self.gym.press(Press::End).await;
    }

    async fn set(&self, station: usize, ms: u32) {
        let station = &self.gym.stations[station - 1];
        self.gym.lesson.set_delay(station, ms).await.unwrap();
    }

    async fn pin(&self, cue: Option<&str>) -> Result<(), NotPinned> {
        self.gym.lesson.pin(number(1), cue).await
    }

    fn delays(&self) -> Vec<u32> {
        delays(&self.gym)
    }

    /// The cue on the TV of station 1.
    fn cue(&self) -> String {
        let sheets = &self.unit.sheets;
        // As the program does at each change.
        sheets.set_pins(self.gym.lesson.pins());
        let sheet = sheets.sheet(number(1), Language::En);
        sheet.task.unwrap().cue.unwrap().text
    }

    fn offers(&self) -> Vec<(String, Otherwise, bool)> {
        let offers = self.gym.lesson.offers().into_iter();
        let short = offers.map(|offer| (offer.class, offer.otherwise, offer.for_everybody));
        short.collect()
    }

    async fn answer(&self, what: TunedKind, keep: KeepFor) -> Result<(), NotKept> {
        let version = self.gym.lesson.offers()[0].version.clone();
        let ask = ask(what, keep, version);
        self.gym.lesson.settle_offer(&ask).await
    }

    fn file(&self) -> String {
        std::fs::read_to_string(self.units.path().join(format!("{NAME}.toml"))).unwrap()
    }
}

fn number(number: i64) -> StationNumber {
    number.try_into().unwrap()
}

fn delays(gym: &Gym) -> Vec<u32> {
    gym.stations.iter().map(|s| s.info().delay_ms).collect()
}

fn delay(delay_ms: u32, planned_ms: u32) -> Otherwise {
    Otherwise::Delay {
        delay_ms,
        planned_ms,
    }
}

fn ask(what: TunedKind, keep: KeepFor, version: Option<String>) -> KeepAsk {
    KeepAsk {
        class: "3B".to_owned(),
        station: 1,
        what,
        keep,
        version,
    }
}

fn comments(text: &str) -> Vec<&str> {
    let lines = text.lines().filter_map(|line| line.split_once('#'));
    lines.map(|(_, comment)| comment).collect()
}

const EYES: &str = "Look at the end of the beam";
const ARMS: &str = "Stretch both arms out wide";

#[tokio::test]
async fn a_class_takes_its_delay_along_and_another_has_what_is_planned() {
    let mut school = School::open();
    assert_eq!(school.delays(), [5_000, 5_000], "no class: the file's");
    school.start("3B").await;
    assert_eq!(school.delays(), [10_000, 6_000], "the unit's");
    school.set(1, 12_000).await;
    assert_eq!(school.delays(), [12_000, 6_000]);
    school.reopen();
    assert_eq!(school.delays(), [12_000, 6_000], "a restart keeps it");
    school.end().await;
    assert_eq!(school.delays(), [5_000, 5_000]);
    school.start("1A").await;
    assert_eq!(school.delays(), [10_000, 6_000], "another class");
    school.end().await;
    school.reopen();
    school.start("3B").await;
    assert_eq!(school.delays(), [12_000, 6_000], "and here it is again");
    school.set(1, 10_000).await;
    school.end().await;
    assert_eq!(school.offers(), [], "set back by hand");
}

#[tokio::test]
async fn a_pinned_cue_stays_with_its_class() {
    let mut school = School::open();
    assert_eq!(school.pin(Some("beam-arms")).await, Err(NotPinned::NoClass));
    school.start("3B").await;
    assert_eq!(school.cue(), EYES);
    school.pin(Some("beam-arms")).await.unwrap();
    assert_eq!(school.cue(), ARMS);
    // What is not there changes nothing.
    for cue in ["jump-knees", "nothing"] {
        assert_eq!(school.pin(Some(cue)).await, Err(NotPinned::NoCue(1)));
    }
    school.reopen();
    assert_eq!(school.cue(), ARMS, "a restart keeps it");
    school.end().await;
    assert_eq!(school.cue(), EYES, "no class, no pin");
    school.start("1A").await;
    assert_eq!(school.cue(), EYES, "another class");
    school.end().await;
    school.start("3B").await;
    assert_eq!(school.cue(), ARMS, "and here it is again");
    school.pin(None).await.unwrap();
    assert_eq!(school.cue(), EYES);
    school.end().await;
    assert_eq!(school.offers(), []);
}

#[tokio::test]
async fn what_differs_is_offered_once_the_class_is_over_until_it_is_answered() {
    let school = School::open();
    school.start("3B").await;
    school.set(1, 12_000).await;
    school.pin(Some("beam-toes")).await.unwrap();
    assert_eq!(school.offers(), [], "not while it runs");
    school.end().await;
    let offers = school.offers();
    assert_eq!(offers[0], ("3B".to_owned(), delay(12_000, 10_000), true));
    assert!(
        matches!(&offers[1], (_, Otherwise::Cue { cue, planned: Some(planned) }, false)
            if cue.en == "Feel with your toes first" && planned.en == EYES),
        "the cue of one level cannot be everybody's: {offers:?}"
    );
    let refused = school.answer(TunedKind::Cue, KeepFor::Everybody).await;
    assert!(matches!(refused, Err(NotKept::Class)), "{refused:?}");
    assert_eq!(school.file(), SAMPLE);
    // Another class comes before anybody has answered.
    school.start("1A").await;
    assert_eq!(school.offers(), []);
    school.end().await;
    assert_eq!(school.offers(), offers);

    school
        .answer(TunedKind::Cue, KeepFor::Nobody)
        .await
        .unwrap();
    school
        .answer(TunedKind::Delay, KeepFor::Class)
        .await
        .unwrap();
    // The other remote was later.
    let late = ask(TunedKind::Delay, KeepFor::Nobody, None);
    school.gym.lesson.settle_offer(&late).await.unwrap();
    school.start("3B").await;
    assert_eq!((school.delays()[0], school.cue().as_str()), (12_000, EYES));
    school.end().await;
    assert_eq!(school.offers(), [], "it was answered");
    school.start("3B").await;
    school.set(1, 13_000).await;
    school.end().await;
    assert_eq!(school.offers().len(), 1, "and has changed since");
}

#[tokio::test]
async fn kept_for_everybody_it_stands_in_the_unit_file_with_every_comment() {
    let school = School::open();
    school.start("3B").await;
    school.set(1, 12_000).await;
    school.pin(Some("beam-arms")).await.unwrap();
    school.end().await;
    school
        .answer(TunedKind::Delay, KeepFor::Everybody)
        .await
        .unwrap();
    let wanted = SAMPLE.replacen("delay_ms = 10000", "delay_ms = 12000", 1);
    assert_eq!(school.file(), wanted);
    school
        .answer(TunedKind::Cue, KeepFor::Everybody)
        .await
        .unwrap();
    let text = school.file();
    let (mut kept, mut all) = (comments(&text), comments(SAMPLE));
    kept.sort_unstable();
    all.sort_unstable();
    assert_eq!(kept, all);
    assert_eq!(school.offers(), []);
    school.start("1A").await;
    assert_eq!((school.delays()[0], school.cue().as_str()), (12_000, ARMS));
}

#[tokio::test]
async fn somebody_elses_version_is_never_overwritten() {
    let school = School::open();
    school.start("3B").await;
    school.set(1, 12_000).await;
    school.end().await;
    let version = school.gym.lesson.offers()[0].version.clone();
    let theirs = SAMPLE.replacen("delay_ms = 10000", "delay_ms = 9000", 1);
    std::fs::write(school.units.path().join(format!("{NAME}.toml")), &theirs).unwrap();
    let keep = ask(TunedKind::Delay, KeepFor::Everybody, version);
    let clash = school.gym.lesson.settle_offer(&keep).await;
    assert!(
        matches!(&clash, Err(NotKept::Save(SaveError::Stale { .. }))),
        "{clash:?}"
    );
    assert_eq!(school.file(), theirs);
    // Looked at again, it can be said again.
    let again = school.offers();
    assert_eq!(again[0], ("3B".to_owned(), delay(12_000, 9_000), true));
    school
        .answer(TunedKind::Delay, KeepFor::Everybody)
        .await
        .unwrap();
    assert!(school.file().contains("delay_ms = 12000"));
}

#[tokio::test]
async fn where_no_unit_has_the_station_the_box_keeps_the_delay() {
    let mut gym = Gym::open(2);
    let set = async |gym: &Gym, ms| {
        let station = &gym.stations[0];
        gym.lesson.set_delay(station, ms).await.unwrap();
    };
    gym.start(|asked| asked.grade = Some(3)).await.unwrap();
    set(&gym, 7_000).await;
    gym.press(Press::End).await;
    assert_eq!(delays(&gym), [5_000, 5_000]);
    let offer = gym.lesson.offers().remove(0);
    assert_eq!(offer.otherwise, delay(7_000, 5_000));
    assert_eq!(
        (offer.version, offer.title.en.as_str()),
        (None, "Station 1")
    );
    let keep = ask(TunedKind::Delay, KeepFor::Everybody, None);
    gym.lesson.settle_offer(&keep).await.unwrap();
    assert_eq!(delays(&gym), [7_000, 5_000]);
    gym.restart(60, "second");
    assert_eq!(delays(&gym), [7_000, 5_000], "over a restart");
    let other = |asked: &mut ClassStart| "1A".clone_into(&mut asked.class);
    gym.start(other).await.unwrap();
    assert_eq!(delays(&gym), [7_000, 5_000], "for another class too");
    set(&gym, 7_500).await;
    set(&gym, 7_000).await;
    gym.press(Press::End).await;
    assert!(gym.lesson.offers().is_empty(), "as planned now");
}

#[tokio::test]
async fn what_is_set_while_no_class_runs_holds_for_all_until_the_program_ends() {
    let mut school = School::open();
    school.set(1, 3_000).await;
    assert_eq!(school.delays(), [3_000, 5_000]);
    school.start("3B").await;
    assert_eq!(school.delays(), [3_000, 6_000]);
    school.set(1, 4_000).await;
    school.end().await;
    assert_eq!(school.delays(), [3_000, 5_000]);
    // What is kept for everybody is meant for everybody.
    school
        .answer(TunedKind::Delay, KeepFor::Everybody)
        .await
        .unwrap();
    school.start("1A").await;
    assert_eq!(school.delays(), [4_000, 6_000]);
    school.end().await;
    school.set(2, 2_000).await;
    school.reopen();
    assert_eq!(school.delays(), [5_000, 5_000]);
}

#[tokio::test]
async fn another_unit_is_another_task_and_is_not_used_in_mid_class() {
    let school = School::open();
    let other = SAMPLE.replacen("id = \"larkfield-circuit\"", "id = \"spring\"", 1);
    std::fs::write(school.units.path().join("spring.toml"), other).unwrap();
    school.start("3B").await;
    school.set(1, 12_000).await;
    let lesson = &school.gym.lesson;
    assert_eq!(lesson.use_unit("spring").await, Err(NotUsed::Class));
    school.end().await;
    assert_eq!(lesson.use_unit("nowhere").await, Err(NotUsed::NoSuch));
    lesson.use_unit("spring").await.unwrap();
    assert_eq!(school.offers(), [], "nothing of a unit that is not in use");
    school.start("3B").await;
    assert_eq!(school.delays()[0], 10_000);
    school.end().await;
    lesson.use_unit(NAME).await.unwrap();
    school.start("3B").await;
    assert_eq!(school.delays()[0], 12_000, "it has waited");
}
