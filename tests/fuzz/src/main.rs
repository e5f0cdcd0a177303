//! Feeds every body, or one, for so many seconds, and prints what it found.
//!
//! ```text
//! afterturn-fuzz --seconds 60 --seed 7
//! afterturn-fuzz --body stamp --replay 00ff0a
//! ```
//!
//! Not here: the bodies, and how inputs are made.

use std::{
    cell::RefCell,
    process::ExitCode,
    sync::{Arc, Mutex, PoisonError},
    thread,
    time::{Duration, Instant, SystemTime},
};

use afterturn_fuzz::{BODIES, Body, Failure, Limit, body, holds, how_to_replay, run, shrink};
use clap::Parser;

/// No body takes a hundredth of this for one input.
const HANGS_AFTER: Duration = Duration::from_secs(20);

/// Feeds functions that hold the program to its promises with random and
/// spoilt inputs, and prints what broke one.
#[derive(Parser)]
#[command(version)]
struct Options {
    /// Only this body; all of them, one after another, if left out
    #[arg(long, value_parser = named)]
    body: Option<Body>,
    /// How long, for each body
    #[arg(long, default_value_t = 10)]
    seconds: u64,
    /// Where the inputs start from; the clock's, and printed, if left out
    #[arg(long)]
    seed: Option<u64>,
    /// Try this one input, in hexadecimal digits, and nothing else
    #[arg(long, value_name = "HEX", requires = "body", value_parser = bytes_of)]
    replay: Option<Input>,
}

#[derive(Clone)]
struct Input(Vec<u8>);

fn named(name: &str) -> Result<Body, String> {
    body(name).ok_or_else(|| {
        let names: Vec<_> = BODIES.iter().map(|body| body.name).collect();
        format!("the bodies are {}", names.join(", "))
    })
}

fn bytes_of(hex: &str) -> Result<Input, String> {
    let wrong = || "two hexadecimal digits a byte".to_owned();
    if !hex.len().is_multiple_of(2) {
        return Err(wrong());
    }
    let byte = |at| {
        hex.get(at..at + 2)
            .and_then(|two| u8::from_str_radix(two, 16).ok())
    };
    let bytes: Option<Vec<u8>> = (0..hex.len()).step_by(2).map(byte).collect();
    bytes.map(Input).ok_or_else(wrong)
}

thread_local! {
    /// Where the last panic was; its text comes with it.
    static WHERE: RefCell<String> = const { RefCell::new(String::new()) };
}

fn main() -> ExitCode {
    let options = Options::parse();
    // Shrinking panics by the thousand: the last place is enough.
    std::panic::set_hook(Box::new(|panic| {
        let place = panic
            .location()
            .map_or_else(String::new, ToString::to_string);
        WHERE.set(place);
    }));
    if let (Some(body), Some(Input(input))) = (options.body, &options.replay) {
        return match holds(&body, input) {
            Ok(()) => {
                println!("{}: {} bytes, all promises held", body.name, input.len());
                ExitCode::SUCCESS
            }
            Err(said) => {
                println!("{}: at {}: {said}", body.name, WHERE.take());
                ExitCode::FAILURE
            }
        };
    }
    let seed = options.seed.unwrap_or_else(from_clock);
    println!("seed {seed}");
    let bodies = options
        .body
        .map_or_else(|| BODIES.to_vec(), |body| vec![body]);
    let mut broken = 0;
    for body in bodies {
        let began = Instant::now();
        let trying = watched(body);
        let limit = Limit::Time(Duration::from_secs(options.seconds));
        let outcome = run(&body, seed, limit, |input| {
            *lock(&trying) = (Some(Instant::now()), input.to_vec());
        });
        *lock(&trying) = (None, Vec::new());
        let took_s = began.elapsed().as_secs_f64();
        let name = body.name;
        println!("{name:<16} {:>10} inputs in {took_s:.1} s", outcome.inputs);
        if let Some(failure) = outcome.failure {
            broken += 1;
            report(&body, &shrink(&body, failure));
        }
    }
    if broken > 0 {
        println!("{broken} bodies found something");
        return ExitCode::FAILURE;
    }
    println!("all promises held");
    ExitCode::SUCCESS
}

fn report(body: &Body, failure: &Failure) {
    // What shrinking tried last may have held: fail once more, for the place.
    let _ = holds(body, &failure.input);
    println!("  at {}: {}", WHERE.take(), failure.said);
    println!("  {}", how_to_replay(body, &failure.input));
}

fn from_clock() -> u64 {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    since.map_or(0, |since| since.as_secs())
}

/// Since when which input is being tried.
type Trying = Arc<Mutex<(Option<Instant>, Vec<u8>)>>;

fn lock(trying: &Trying) -> std::sync::MutexGuard<'_, (Option<Instant>, Vec<u8>)> {
    trying.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Ends the program where a body does not come back from an input.
fn watched(body: Body) -> Trying {
    let trying = Trying::default();
    let seen = Arc::downgrade(&trying);
    thread::spawn(move || {
        while let Some(trying) = seen.upgrade() {
            let (since, input) = lock(&trying).clone();
            if since.is_some_and(|since| since.elapsed() > HANGS_AFTER) {
                println!("{}: does not come back", body.name);
                println!("  {}", how_to_replay(&body, &input));
                std::process::exit(1);
            }
            drop(trying);
            thread::sleep(Duration::from_secs(1));
        }
    });
    trying
}
