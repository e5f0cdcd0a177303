//! The command line. See `afterturn --help`.

use std::process::ExitCode;

use afterturn::{
    cli::{Cli, Command, Exit, load, run_cameras, run_check},
    host::{log, parts},
    http,
    run::{Extras, run},
    settings::{LoadError, Settings},
};
use clap::Parser;

fn main() -> ExitCode {
    let cli = Cli::parse();
    log::start(cli.log_format, cli.log, http::NAMES_FILES);
    parts::keep_panics_short();
    // Whatever asks rustls for its provider gets this one.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let environment = |name: &str| std::env::var(name).ok();
    let exit = match cli.command {
        Command::Check(check) => {
            let mut out = std::io::stdout().lock();
            run_check(&check.files, &environment, &mut out).unwrap_or(Exit::Failed)
        }
        Command::Cameras(cameras) => {
            let mut out = std::io::stdout().lock();
            run_cameras(&cameras, &mut out).unwrap_or(Exit::Failed)
        }
        Command::Demo(demo) => serve(
            Settings::demo(demo.port, demo.seed),
            Extras {
                demo: true,
                truth: demo.truth,
            },
        ),
        Command::Serve(args) => match load(&args.config, &environment) {
            Ok((mut settings, warnings)) => {
                if let Some(port) = args.port {
                    settings.listen.set_port(port);
                }
                if !warnings.is_empty() {
                    eprint!("{warnings}");
                }
                serve(settings, Extras::default())
            }
            Err(LoadError::Read(error)) => {
                eprintln!("{error}");
                Exit::Mistakes
            }
            Err(LoadError::Mistakes(report)) => {
                eprint!("{report}");
                Exit::Mistakes
            }
        },
    };
    exit.into()
}

fn serve(settings: Settings, extras: Extras) -> Exit {
    match tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
    {
        Ok(runtime) => {
            let exit = runtime.block_on(run(settings, extras));
            // Camera threads may linger in a farewell; nobody waits for them.
            runtime.shutdown_timeout(std::time::Duration::from_millis(200));
            exit
        }
        Err(error) => {
            eprintln!("cannot start: {error}");
            Exit::Failed
        }
    }
}
