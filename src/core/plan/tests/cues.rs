//! Which cue is shown, and where in a unit something is said for a grade.

use super::*;

/// A station as third grade finds it.
fn view(station: &Station) -> StationView {
    let third = "3".parse().expect("a grade");
    let unit = unit(vec![station.clone()]);
    let mut room = resolve(&unit, third, &Allowed::nothing());
    room.stations.remove(0)
}

fn shown(station: &Station, pinned: Option<&str>) -> Option<String> {
    let view = view(station);
    view.shown_cue(pinned).map(|cue| cue.id.to_string())
}

fn beam() -> Station {
    let mut beam = station(1, "beam");
    beam.levels.push(level("backwards", "3-5"));
    let old = Cue {
        grades: grades("4-5"),
        ..cue("old", None)
    };
    beam.cues = vec![
        cue("feel", Some("backwards")),
        cue("eyes", None),
        cue("arms", None),
        old,
    ];
    beam
}

#[test]
fn the_pinned_cue_is_shown_and_without_one_the_first_that_is_for_all() {
    let mut beam = beam();
    assert_eq!(shown(&beam, None).as_deref(), Some("eyes"));
    for pinned in ["arms", "feel"] {
        assert_eq!(shown(&beam, Some(pinned)).as_deref(), Some(pinned));
    }
    // Of another grade, and one that is gone.
    for pinned in ["old", "nothing"] {
        assert_eq!(shown(&beam, Some(pinned)).as_deref(), Some("eyes"));
    }
    beam.cues.truncate(1);
    assert_eq!(
        shown(&beam, None).as_deref(),
        Some("feel"),
        "rather than none"
    );
    beam.details.board = true;
    assert_eq!(shown(&beam, Some("feel")), None, "a board has no cue");
}

#[test]
fn whether_a_cue_leads_once_it_stands_first_is_what_happens_then() {
    for cues in [
        beam().cues,
        vec![
            cue("feel", Some("backwards")),
            cue("back", Some("backwards")),
        ],
    ] {
        for at in 0..cues.len() {
            let mut moved = beam();
            moved.cues.clone_from(&cues);
            let said = view(&moved).leads_if_first(cues[at].id.as_str());
            let first = moved.cues.remove(at);
            moved.cues.insert(0, first);
            let leads = shown(&moved, None) == Some(cues[at].id.to_string());
            assert_eq!(said, leads, "{}", cues[at].id);
        }
    }
}

#[test]
fn the_last_band_that_says_it_for_a_grade_has_the_last_word() {
    let mut beam = beam();
    let delay = |ms| Changes {
        delay_ms: Some(ms),
        ..Changes::default()
    };
    beam.bands = vec![
        band("K-3", delay(4_000)),
        band("2-3", delay(6_000)),
        band("3", Changes::default()),
    ];
    for (grade, wanted) in [("K", Some(0)), ("3", Some(1)), ("4", None)] {
        let grade: Grade = grade.parse().expect("a grade");
        let band = beam.band_that_says(grade, |changes| changes.delay_ms.is_some());
        assert_eq!(band, wanted, "{grade}");
        let said = band.map_or(0, |at| beam.bands[at].changes.delay_ms.unwrap_or(0));
        assert_eq!(said, beam.details_for(grade).delay_ms);
    }
}
