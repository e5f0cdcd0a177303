//! Every body on a few thousand inputs from a fixed seed, and the loop itself.

#![allow(missing_docs, reason = "a test explains itself")]

use afterturn::settings::Settings;
use afterturn_core::{
    media::{
        ParameterSets,
        slice::{PictureKind, picture_kind},
    },
    wire::{FromScreen, FromServer},
};
use afterturn_fuzz::{
    BODIES, Body, Failure, Limit, Outcome, bodies::list::read, body, holds, how_to_replay, run,
    shrink,
};

const SEED: u64 = 1;

fn feed(name: &str, inputs: u64) {
    let body = body(name).expect("a body of this name");
    let outcome = run(&body, SEED, Limit::Inputs(inputs), |_| {});
    if let Some(failure) = outcome.failure {
        let Failure { input, said } = shrink(&body, failure);
        panic!("{said}\n{}", how_to_replay(&body, &input));
    }
    assert_eq!(outcome.inputs, inputs);
}

#[test]
fn stamp() {
    feed("stamp", 4_000);
}

#[test]
fn access_unit() {
    feed("access_unit", 20_000);
}

#[test]
fn parameter_sets() {
    feed("parameter_sets", 10_000);
}

#[test]
fn fragment() {
    feed("fragment", 10_000);
}

#[test]
fn intake() {
    feed("intake", 4_000);
}

#[test]
fn delay() {
    feed("delay", 4_000);
}

#[test]
fn messages() {
    feed("messages", 20_000);
}

#[test]
fn config_file() {
    feed("config_file", 3_000);
}

#[test]
fn list() {
    feed("list", 10_000);
}

#[test]
fn backup() {
    feed("backup", 150);
}

/// Fails where a 7 stands before an 8.
const PICKY: Body = Body {
    name: "picky",
    run: |data| {
        assert!(!data.windows(2).any(|pair| pair == [7, 8]), "seven, eight");
    },
    seeds: || vec![vec![0; 50]],
    words: &[&[7, 8]],
    most_bytes: 100,
};

#[test]
fn what_breaks_a_promise_is_found_shrunk_and_found_again() {
    let outcome = run(&PICKY, SEED, Limit::Inputs(10_000), |_| {});
    let failure = outcome.failure.clone().expect("it is not hard to find");
    assert_eq!(failure.said, "seven, eight");
    assert_eq!(
        holds(&PICKY, &failure.input),
        Err("seven, eight".to_owned())
    );
    assert_eq!(shrink(&PICKY, failure).input, [7, 8]);
    let again = run(&PICKY, SEED, Limit::Inputs(10_000), |_| {});
    assert_eq!(outcome, again, "the same seed, the same inputs");
}

#[test]
fn seeds_come_first_and_as_they_are() {
    for body in BODIES {
        let seeds = (body.seeds)();
        assert!(
            seeds.iter().all(|seed| seed.len() <= body.most_bytes),
            "{}",
            body.name
        );
        let mut fed = Vec::new();
        let most = Limit::Inputs(seeds.len() as u64);
        let outcome = run(&body, SEED, most, |input| fed.push(input.to_vec()));
        let expected = Outcome {
            inputs: seeds.len() as u64,
            failure: None,
        };
        assert_eq!(outcome, expected, "{}", body.name);
        assert_eq!(fed, seeds, "{}", body.name);
    }
}

/// How many of a body's inputs, in a hundred, its reader takes.
fn taken_percent(name: &str, takes: impl Fn(&[u8]) -> bool) -> u32 {
    const INPUTS: u32 = 4_000;
    let body = body(name).expect("a body of this name");
    let mut count = 0;
    run(&body, SEED, Limit::Inputs(INPUTS.into()), |input| {
        count += u32::from(takes(input));
    });
    count * 100 / INPUTS
}

/// A body whose inputs are all refused holds nobody to anything.
#[test]
fn many_inputs_are_taken_and_many_refused() {
    let record = |input: &[u8]| ParameterSets::from_avcc(input).is_ok();
    let message = |input: &[u8]| {
        serde_json::from_slice::<FromScreen>(input).is_ok()
            || serde_json::from_slice::<FromServer>(input).is_ok()
    };
    let file = |input: &[u8]| Settings::from_bytes("a.toml", input, &|_| None).is_ok();
    let slices = |input: &[u8]| picture_kind(input) != PictureKind::Unreadable;
    for (name, percent) in [
        ("parameter_sets", taken_percent("parameter_sets", record)),
        ("messages", taken_percent("messages", message)),
        ("config_file", taken_percent("config_file", file)),
        ("list", taken_percent("list", |input| read(input).is_ok())),
        ("access_unit", taken_percent("access_unit", slices)),
    ] {
        println!("{name}: {percent} % taken");
        assert!((3..=97).contains(&percent), "{name}: {percent} % taken");
    }
}
