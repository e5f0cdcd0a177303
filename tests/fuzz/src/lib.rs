//! Bodies for fuzzing: plain functions that take any bytes and panic when
//! something the program promises does not hold. A panic of the program itself
//! is one of those.
//!
//! Each body says which promises it holds the program to. What it compares with
//! is reckoned here anew or read by a parser that is not ours. [`BODIES`] lists
//! them; [`run()`] feeds them; any other driver may, since a body is a
//! `fn(&[u8])`.
//!
//! Not here: instrumentation of the compiler. The loop is blind: it mutates
//! what the bodies name as good beginnings and knows nothing of coverage.

#![allow(
    clippy::missing_panics_doc,
    reason = "panicking is how a body says that a promise is broken"
)]

pub mod bodies;
mod camera;
mod mutate;
mod random;
mod run;
mod script;

#[allow(
    dead_code,
    unreachable_pub,
    reason = "shared with the fragment tests, which use all of it"
)]
#[path = "../../fragments/boxes.rs"]
mod boxes;

pub use run::{Failure, Limit, Outcome, holds, how_to_replay, run, shrink};

/// One body and what it is fed with.
#[derive(Clone, Copy)]
pub struct Body {
    /// How it is asked for.
    pub name: &'static str,
    /// The function.
    pub run: fn(&[u8]),
    /// Inputs to start from: what the program itself would meet.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// Words that mean something to what is read, to be put in anywhere.
    pub words: &'static [&'static [u8]],
    /// No input is longer than this.
    pub most_bytes: usize,
}

/// Every body.
pub const BODIES: [Body; 10] = [
    Body {
        name: "stamp",
        run: bodies::stamp::stamp,
        seeds: bodies::stamp::seeds,
        words: &[],
        most_bytes: 2000,
    },
    Body {
        name: "access_unit",
        run: bodies::access_unit::access_unit,
        seeds: bodies::access_unit::seeds,
        words: bodies::access_unit::WORDS,
        most_bytes: 1000,
    },
    Body {
        name: "parameter_sets",
        run: bodies::parameter_sets::parameter_sets,
        seeds: bodies::parameter_sets::seeds,
        words: bodies::parameter_sets::WORDS,
        most_bytes: 600,
    },
    Body {
        name: "fragment",
        run: bodies::fragment::fragment,
        seeds: bodies::fragment::seeds,
        words: bodies::access_unit::WORDS,
        most_bytes: 4000,
    },
    Body {
        name: "intake",
        run: bodies::intake::intake,
        seeds: bodies::intake::seeds,
        words: &[],
        most_bytes: 2000,
    },
    Body {
        name: "delay",
        run: bodies::delay::delay,
        seeds: bodies::delay::seeds,
        words: &[],
        most_bytes: 600,
    },
    Body {
        name: "messages",
        run: bodies::messages::messages,
        seeds: bodies::messages::seeds,
        words: bodies::messages::WORDS,
        most_bytes: 5000,
    },
    Body {
        name: "config_file",
        run: bodies::config_file::config_file,
        seeds: bodies::config_file::seeds,
        words: bodies::config_file::WORDS,
        most_bytes: 10_000,
    },
    Body {
        name: "list",
        run: bodies::list::list,
        seeds: bodies::list::seeds,
        words: bodies::list::WORDS,
        most_bytes: 4000,
    },
    Body {
        name: "backup",
        run: bodies::backup::backup,
        seeds: bodies::backup::seeds,
        words: bodies::backup::WORDS,
        most_bytes: 200_000,
    },
];

/// The body of this name.
#[must_use]
pub fn body(name: &str) -> Option<Body> {
    BODIES.into_iter().find(|body| body.name == name)
}
