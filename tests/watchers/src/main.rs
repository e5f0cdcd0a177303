//! Many screens of one station, some of them stalled, slow or gone: measures
//! what that does to the others and to the server.
//!
//! ```text
//! scripts/measure-fan-out --viewers 200 --stalled 5 --slow 5 --seconds 60
//! ```
//!
//! Starts a camera and the server that were built beside it, fills the ring,
//! opens the screens, measures, prints a table. Not here: pages and pictures. A
//! screen here reads a fragment's number and capture time and drops the rest,
//! so that two hundred of them leave something of two cores for the server.

mod figures;
mod fragment;
mod gym;
mod measure;
mod options;
mod process;
mod screen;

use std::process::ExitCode;

use clap::Parser;

use options::{Judge, Options};

fn main() -> ExitCode {
    match run(&Options::parse()) {
        Ok(exit) => exit,
        Err(problem) => {
            eprintln!("watchers: {problem}");
            ExitCode::FAILURE
        }
    }
}

/// One thread for all of them: they hardly reckon, and what it takes is read off
/// one line.
fn run(options: &Options) -> Result<ExitCode, String> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| error.to_string())?;
    let measured = runtime.block_on(measure::measure(options))?;
    figures::print(options, &measured);
    let not_held = match options.judge {
        None => Vec::new(),
        Some(Judge::Order) => figures::out_of_order(options, &measured),
        Some(Judge::All) => {
            let mut all = figures::out_of_order(options, &measured);
            all.extend(figures::late_or_large(options, &measured));
            all
        }
    };
    for what in &not_held {
        println!("not held: {what}");
    }
    Ok(if not_held.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}
