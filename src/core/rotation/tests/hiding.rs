//! A group that is not shown is on no glass: rings of eight stations, screens of
//! three delays, and children who walk as children do.

use bytes::Bytes;
use proptest::prelude::*;

use super::*;
use crate::{
    delay::{Reading, Ring, RingSettings, Veil},
    media::{Fragment, ParameterSets},
    wire::CoverReason,
};

const STATIONS: u8 = 8;
/// Two pictures a second are enough to be caught by.
const PICTURE_US: i64 = 500_000;
const DELAYS_S: [i64; 3] = [2, 10, 30];
/// A child who dawdles comes this much after the walk was to be over.
const DAWDLE_US: i64 = 4_000_000;

/// Short turns: what is looked for happens at changes.
const TIMES: Times = Times {
    warm_up_s: 8,
    briefing_s: 5,
    work_s: 45,
    last_turn_s: 10,
    gather_s: 5,
    walk_s: 12,
    closing_s: 10,
};

/// Where the group really is, by a reckoning of its own: at a station, or on its
/// way and in view of every camera.
struct Group {
    at: Option<StationNumber>,
    there: CaptureUs,
}

impl Group {
    fn new() -> Self {
        Self {
            at: None,
            there: START,
        }
    }

    /// It is told where to be; from wherever it is, that takes it a walk.
    fn told(&mut self, to: Option<StationNumber>, now: CaptureUs) {
        if self.at != to {
            self.at = to;
            self.there = now.offset(i64::from(TIMES.walk_s) * 1_000_000 + DAWDLE_US);
        }
    }

    fn is_in_view(&self, of: StationNumber, now: CaptureUs) -> bool {
        self.at.is_none() || now < self.there || self.at == Some(of)
    }
}

struct Gym {
    rings: Vec<Ring>,
    /// Pictures with the group in them, by station.
    pictures: Vec<BTreeSet<CaptureUs>>,
}

impl Gym {
    fn new() -> Self {
        let ring = || {
            let mut ring = Ring::new(RingSettings {
                window_us: 32_000_000,
                most_bytes: 1_000_000,
            });
            ring.open_chapter(ParameterSets {
                mime: String::new(),
                width_px: 2,
                height_px: 2,
                interlaced: false,
                promises_order: true,
                init: Bytes::new(),
            });
            ring
        };
        Self {
            rings: (0..STATIONS).map(|_| ring()).collect(),
            pictures: vec![BTreeSet::new(); STATIONS.into()],
        }
    }

    fn take(&mut self, group: &Group, now: CaptureUs) {
        for n in 1..=STATIONS {
            let ring = &mut self.rings[usize::from(n) - 1];
            ring.push(Fragment {
                number: ring.end(),
                capture: now,
                duration_us: PICTURE_US as u32,
                keyframe: true,
                bytes: Bytes::from_static(b"p"),
            });
            ring.prune(now);
            if group.is_in_view(number(n), now) {
                self.pictures[usize::from(n) - 1].insert(now);
            }
        }
    }

    /// As the running class does it.
    fn hide(&mut self, clock: &Clock) {
        for n in 1..=STATIONS {
            let veils = clock.hidden(number(n)).into_iter().map(|span| Veil {
                from: span.from,
                to: span.to,
                reason: CoverReason::Covered,
            });
            self.rings[usize::from(n) - 1].veil_as_told(veils.collect());
        }
    }

    /// Capture times at which the group is seen on any glass now.
    fn seen(&self, now: CaptureUs) -> Vec<(u8, CaptureUs)> {
        let mut seen = Vec::new();
        for (n, (ring, pictures)) in (1..).zip(self.rings.iter().zip(&self.pictures)) {
            for delay_s in DELAYS_S {
                let due = now.offset(-delay_s * 1_000_000);
                let Some(at) = ring.locate(due) else { continue };
                if let Reading::Shown(fragment, _) = ring.read(at)
                    && fragment.capture <= due
                    && pictures.contains(&fragment.capture)
                {
                    seen.push((n, fragment.capture));
                }
            }
        }
        seen
    }
}

/// Where the class tells the group to be.
fn told(clock: &Clock, who: GroupNumber) -> Option<StationNumber> {
    let face = clock.face(START);
    let stand = match face.phase {
        Phase::Work | Phase::LastTurn | Phase::Gather => Some(clock.stand(who)),
        Phase::Walk => clock.next_stand(who),
        _ => None,
    };
    // Sent off to sit or to line up, it is anywhere.
    let away = clock.holds().iter().any(|hold| hold.stops_cameras());
    stand.filter(|_| !away).and_then(|stand| stand.at)
}

/// Runs a class with presses at their seconds; the group must not be seen from
/// `hidden_s` on, as long as `still` says so.
fn play(
    mut clock: Clock,
    who: GroupNumber,
    presses: &[(i64, Press)],
    still: impl Fn(&Clock, CaptureUs) -> bool,
) -> Result<usize, TestCaseError> {
    let mut gym = Gym::new();
    let mut group = Group::new();
    let mut presses = presses.iter().peekable();
    let mut looked = 0;
    for tick in 0..1_600 {
        let now = START.offset(tick * PICTURE_US);
        // The program wakes a little late, so the picture is there first.
        group.told(told(&clock, who), now);
        if clock.captures() {
            gym.take(&group, now);
        }
        clock.advance(now);
        while let Some((id, (_, asked))) = presses
            .next_if(|(second, _)| *second <= tick / 2)
            .map(|press| (tick, press))
        {
            let _ = clock.press(&format!("{id} {asked:?}"), *asked, None, now, WALL_MS);
        }
        gym.hide(&clock);
        if clock.is_done() {
            break;
        }
        for (station, capture) in gym.seen(now) {
            looked += 1;
            prop_assert!(
                !still(&clock, capture),
                "station {} shows the group as it was {} s into the class, {} s in",
                station,
                capture.since(START) / 1_000_000,
                tick / 2
            );
        }
    }
    Ok(looked)
}

fn hidden_class(not_shown: &[u8]) -> Clock {
    let not_shown = not_shown.iter().map(|n| group(*n)).collect();
    Clock::start(
        plan(STATIONS, STATIONS, TIMES),
        BTreeSet::new(),
        not_shown,
        START,
    )
}

#[test]
fn a_group_that_is_not_shown_is_on_no_glass_from_start_to_end() {
    let looked = play(hidden_class(&[3]), group(3), &[], |_, _| true).expect("never seen");
    assert_eq!(looked, 0);
    // The same eyes see it where it is not hidden.
    let looked = play(hidden_class(&[]), group(3), &[], |_, _| false).expect("nothing is hidden");
    assert!(looked > 1_000, "{looked}");
}

#[test]
fn a_covered_group_is_on_no_glass_until_it_has_left_and_then_it_is() {
    // In the middle of the second turn.
    let press_at = 13 + 62 + 20;
    let cover = (press_at, Press::CoverGroup { group: group(3) });
    let stay_from = s(13 + 45 + 5);
    let left = s(13 + 2 * 62);
    let looked = play(hidden_class(&[]), group(3), &[cover], |clock, capture| {
        let pressed = !clock.covers.is_empty();
        pressed && capture >= stay_from && capture < left
    });
    assert!(
        looked.expect("never seen") > 1_000,
        "and it is seen before and after"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn whatever_is_pressed_a_group_that_is_not_shown_is_on_no_glass(
        mut presses in proptest::collection::vec((0_i64..600, press_of_any_kind()), 0..25),
    ) {
        presses.sort_by_key(|(second, _)| *second);
        play(hidden_class(&[3]), group(3), &presses, |_, _| true)?;
    }
}

fn press_of_any_kind() -> impl Strategy<Value = Press> {
    let hold = (0..Hold::ALL.len()).prop_map(|i| Hold::ALL[i]);
    let station = (1..=STATIONS).prop_map(number);
    prop_oneof![
        4 => Just(Press::Next),
        2 => Just(Press::Back),
        1 => Just(Press::More),
        1 => hold.clone().prop_map(|hold| Press::Hold { hold }),
        3 => hold.prop_map(|hold| Press::Resume { hold }),
        1 => station.clone().prop_map(|station| Press::Close { station }),
        1 => station.prop_map(|station| Press::Open { station }),
    ]
}

#[test]
fn a_covered_screen_points_at_nobody() {
    let mut clock = hidden_class(&[3]);
    let mut times = [0; STATIONS as usize];
    for turn in 0..i64::from(STATIONS) {
        // In the middle of the work of a turn.
        let now = s(13 + turn * 62 + 30);
        clock.advance(now);
        let covered: Vec<_> = clock
            .plan()
            .groups()
            .filter(|g| clock.is_hidden(*g, now))
            .collect();
        assert_eq!(covered.len(), 2, "one other each turn");
        assert!(covered.contains(&group(3)));
        for group in covered {
            times[group.index()] += 1;
            let at = clock.stand(group).at.expect("at a station");
            let spans = clock.hidden(at);
            let holds = |span: &Span| span.from <= now && span.to.is_none_or(|to| now < to);
            assert!(spans.iter().any(holds), "its station is not covered");
        }
    }
    assert_eq!(times, [2, 1, 8, 1, 1, 1, 1, 1], "the others in turn");
    // Where all may be shown, nobody is covered.
    let clock = hidden_class(&[]);
    assert!((1..=STATIONS).all(|n| clock.hidden(number(n)).is_empty()));
}

#[test]
fn after_a_restart_children_may_be_anywhere_for_as_long_as_a_walk_takes() {
    let is_hidden = |clock: &Clock, n, at| {
        let holds = |span: &Span| span.from <= at && span.to.is_none_or(|to| at < to);
        clock.hidden(number(n)).iter().any(holds)
    };
    // Group 3 is at station 3 and has settled; 6 shows its group.
    let mut clock = hidden_class(&[3]);
    clock.advance(s(50));
    assert!(is_hidden(&clock, 3, s(50)) && !is_hidden(&clock, 6, s(50)));
    // Away from 50 to 90, and on a timeline that has 12 s more in it: nobody gave
    // the signal, and the group may walk from where it is only now.
    clock.carry_over(12_000_000, s(102));
    for n in [3, 4, 6] {
        assert!(is_hidden(&clock, n, s(102)) && is_hidden(&clock, n, s(116)));
    }
    assert!(!is_hidden(&clock, 6, s(122)), "all have settled");
    assert!(is_hidden(&clock, 4, s(122)), "with group 3");
}

#[test]
fn what_is_to_come_is_hidden_before_it_comes() {
    let clock = hidden_class(&[3]);
    // Everybody about until they have settled at the first station, and on each
    // walk until they have settled again; group 3 stands at 3, then at 4.
    let spans = |n| {
        let all = clock.hidden(number(n)).into_iter();
        let seconds = |at: CaptureUs| at.since(START) / 1_000_000;
        let all = all.map(|span| (seconds(span.from), span.to.map(seconds)));
        all.take(3).collect::<Vec<_>>()
    };
    assert_eq!(spans(6)[..2], [(0, Some(30)), (63, Some(80))]);
    // Group 1 is covered in the first turn, and group 2 in the second, at 3:
    // each in its turn, so that nobody is pointed at.
    assert_eq!(spans(1)[..1], [(0, Some(80))]);
    assert_eq!(spans(3)[..1], [(0, Some(142))]);
    assert_eq!(spans(4)[..2], [(0, Some(30)), (63, Some(142))]);
    let mut paused = clock.clone();
    let hold = Hold::Pause;
    press(&mut paused, Press::Hold { hold }, s(40)).expect("running");
    assert_eq!(paused.hidden(number(3)).last().expect("hidden").to, None);
    assert_eq!(
        paused.hidden(number(4)).last().expect("hidden").to,
        Some(s(30))
    );
}
