use ts_rs::{Config, TS};

use super::*;
use crate::rotation::{
    Accident, Click, Crowd, GroupNumber, Hands, Hold, Phase, Press, Times, TunedKind, Why,
};

/// What a screen and a station's card are told.
fn of_stations(config: &Config) -> Vec<String> {
    vec![
        Applies::decl(config),
        CameraState::decl(config),
        CoverReason::decl(config),
        Again::decl(config),
        AgainAsk::decl(config),
        StationAgain::decl(config),
        AgainAnswer::decl(config),
        StationState::decl(config),
        Language::decl(config),
        View::decl(config),
        Look::decl(config),
        LetterSizes::decl(config),
        SheetMark::decl(config),
        Shown::decl(config),
        Task::decl(config),
        Turn::decl(config),
        Sheet::decl(config),
        SoundMode::decl(config),
        SoundPlace::decl(config),
        SoundState::decl(config),
        SoundPage::decl(config),
        SoundStanding::decl(config),
        SoundInfo::decl(config),
        SoundPatch::decl(config),
        FromServer::decl(config),
        Click::decl(config),
        FromScreen::decl(config),
        CameraNote::decl(config),
        CameraInfo::decl(config),
        ViewerInfo::decl(config),
        LatencyInfo::decl(config),
        SightTrouble::decl(config),
        CalibrationInfo::decl(config),
        CalibrationRefusal::decl(config),
        CalibrationOrder::decl(config),
        CalibrationAsk::decl(config),
        PublisherNews::decl(config),
        PublisherStanding::decl(config),
        StationInfo::decl(config),
        AgainSaid::decl(config),
        Part::decl(config),
        FailedPart::decl(config),
        StationList::decl(config),
        StationPatch::decl(config),
        Order::decl(config),
        StationOrder::decl(config),
    ]
}

/// What is said of a class, of units and of who is in the gym.
fn of_classes(config: &Config) -> Vec<String> {
    vec![
        GroupNumber::decl(config),
        Phase::decl(config),
        Hold::decl(config),
        Times::decl(config),
        Crowd::decl(config),
        Accident::decl(config),
        Hands::decl(config),
        Why::decl(config),
        Press::decl(config),
        ClassTime::decl(config),
        GroupHere::decl(config),
        Stay::decl(config),
        Refinement::decl(config),
        ClassChange::decl(config),
        ScreenClass::decl(config),
        HallStation::decl(config),
        HallGroup::decl(config),
        Hall::decl(config),
        GroupInfo::decl(config),
        ClassStation::decl(config),
        RunningClass::decl(config),
        NotKnown::decl(config),
        ShownAsk::decl(config),
        AfterRestart::decl(config),
        ClassInfo::decl(config),
        AnswerAfterRestart::decl(config),
        ClassAnswer::decl(config),
        ClassPress::decl(config),
        PressAnswer::decl(config),
        KnownClass::decl(config),
        InBoth::decl(config),
        StationChange::decl(config),
        StartStation::decl(config),
        GradeStart::decl(config),
        StartInfo::decl(config),
        ClassStart::decl(config),
        StartAsk::decl(config),
        StartAnswer::decl(config),
        ViewChoice::decl(config),
        StationLanguage::decl(config),
        CueChoice::decl(config),
        StationCues::decl(config),
        CuePick::decl(config),
        TunedKind::decl(config),
        Otherwise::decl(config),
        KeepOffer::decl(config),
        KeepOffers::decl(config),
        KeepFor::decl(config),
        KeepAsk::decl(config),
        UnitChoice::decl(config),
        Showing::decl(config),
        ShowingPatch::decl(config),
    ]
}

/// The page's types are these types. `UPDATE=1 cargo test -p afterturn-core wire`
/// writes them anew after a change.
#[test]
fn the_pages_types_are_written_from_these() {
    let config = Config::default();
    let mut text = String::from(
        "// Written by the test in src/core/wire/tests.rs from the Rust types; do not edit.\n",
    );
    let declarations = of_stations(&config).into_iter().chain(of_classes(&config));
    for declaration in declarations {
        text.push_str("\nexport ");
        text.push_str(&declaration);
        text.push('\n');
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../web/live/wire.d.ts");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(path, &text).expect("the repository is writable");
    }
    let kept = std::fs::read_to_string(path).expect("web/live/wire.d.ts is in the repository");
    assert!(
        kept == text,
        "web/live/wire.d.ts is out of date: run with UPDATE=1"
    );
}

#[test]
fn a_message_reads_as_it_is_documented() {
    let said = serde_json::to_value(FromServer::Cover {
        applies: Applies::AtCapture {
            capture_us: CaptureUs(5),
        },
        reason: CoverReason::DontShow,
    })
    .expect("a message is plain data");
    assert_eq!(
        said,
        serde_json::json!({
            "type": "cover",
            "applies": { "clock": "at_capture", "capture_us": 5 },
            "reason": "dont_show",
        })
    );
    let heard: FromScreen =
        serde_json::from_str(r#"{"type":"want","from_us":null}"#).expect("as documented");
    assert_eq!(heard, FromScreen::Want { from_us: None });
}

#[test]
fn rubbish_is_an_error_never_a_panic() {
    let rubbish = [
        "",
        "{}",
        "[]",
        "null",
        "\u{0}",
        r#"{"type":"want","from_us":-1}"#,
        r#"{"type":"clock","t1_us":1e99}"#,
        r#"{"type":"report","extra":1}"#,
        r#"{"type":"hello"}"#,
    ];
    for text in rubbish {
        assert!(serde_json::from_str::<FromScreen>(text).is_err(), "{text}");
    }
}

proptest::proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,200}") {
        let _ = serde_json::from_str::<FromScreen>(&text);
    }
}
