//! Feeds a body and says what it thought of it.
//!
//! Not here: printing, and looking out for a body that never comes back; the
//! program around this does both.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    time::{Duration, Instant},
};

use crate::{Body, mutate, random::Random};

/// How long to go on.
#[derive(Clone, Copy, Debug)]
pub enum Limit {
    /// So many inputs.
    Inputs(u64),
    /// As many as fit into this time.
    Time(Duration),
}

/// An input under which a promise is broken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// The bytes.
    pub input: Vec<u8>,
    /// What the panic said.
    pub said: String,
}

/// How it went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// Inputs tried, the failing one included.
    pub inputs: u64,
    /// The first that failed.
    pub failure: Option<Failure>,
}

/// Whether a body bears an input; if not, what it said.
pub fn holds(body: &Body, input: &[u8]) -> Result<(), String> {
    // A body keeps nothing from one input to the next.
    catch_unwind(AssertUnwindSafe(|| (body.run)(input))).map_err(|said| {
        let text = said.downcast_ref::<String>().cloned();
        let text = text.or_else(|| said.downcast_ref::<&str>().map(|said| (*said).to_owned()));
        text.unwrap_or_else(|| "a panic without words".to_owned())
    })
}

/// Feeds a body its seeds and then inputs made from `seed`, up to the limit or
/// the first that fails. `about_to` hears of each input before it is tried.
pub fn run(body: &Body, seed: u64, limit: Limit, mut about_to: impl FnMut(&[u8])) -> Outcome {
    let seeds = (body.seeds)();
    let mut random = Random::of(seed, body.name);
    let began = Instant::now();
    let mut inputs = 0;
    let mut as_they_are = seeds.iter().cloned();
    loop {
        let input = as_they_are
            .next()
            .unwrap_or_else(|| mutate::input(body, &seeds, &mut random));
        about_to(&input);
        inputs += 1;
        if let Err(said) = holds(body, &input) {
            let failure = Some(Failure { input, said });
            return Outcome { inputs, failure };
        }
        let done = match limit {
            Limit::Inputs(most) => inputs >= most,
            Limit::Time(most) => began.elapsed() >= most,
        };
        if done {
            let failure = None;
            return Outcome { inputs, failure };
        }
    }
}

/// The command that tries an input again.
#[must_use]
pub fn how_to_replay(body: &Body, input: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut line = format!("scripts/fuzz --body {} --replay ", body.name);
    for byte in input {
        write!(line, "{byte:02x}").expect("writing to memory cannot fail");
    }
    line
}

/// Takes bytes out of a failing input for as long as it still fails: shorter
/// ones are easier to read. Gives up after so many tries.
#[must_use]
pub fn shrink(body: &Body, failure: Failure) -> Failure {
    const MOST_TRIES: u32 = 20_000;
    let mut least = failure;
    let mut tries = 0;
    let mut piece = least.input.len() / 2;
    while piece > 0 {
        let mut at = 0;
        while at < least.input.len() && tries < MOST_TRIES {
            tries += 1;
            let mut input = least.input.clone();
            input.drain(at..(at + piece).min(input.len()));
            match holds(body, &input) {
                Err(said) => least = Failure { input, said },
                Ok(()) => at += piece,
            }
        }
        piece /= 2;
    }
    least
}
