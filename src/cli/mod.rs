//! The command line: thin files, one per command. Exit codes: 0 fine, 1 the answer is no, 2 bad input or usage.

mod args;
mod board;
mod calc;
mod calc_args;
mod check;
mod compare;
mod drill;
mod drill_args;
mod enter;
mod explain;
mod inputs;
mod kept;
mod manual;
mod mend;
mod negative;
mod newcomer;
pub mod own_files;
mod pace;
mod pin;
mod plan;
mod played;
mod preferences;
mod progress;
mod quiz;
mod replay;
mod replay_args;
mod replay_screens;
mod report;
mod rhythm;
mod run;
mod seat;
mod simulate;
mod upsets;
mod verify;
mod verify_journal;
mod worth;

use std::io::{IsTerminal as _, Write as _};
use std::process::ExitCode;

use clap::{CommandFactory as _, Parser as _};

use args::{Cli, Task};

use crate::plain;
use crate::tui::{Exit, TuiError};

/// What a command came to.
enum Outcome {
    /// All is well.
    Fine,
    /// The answer is no: breaches, or no plan.
    No,
    /// The input is bad, and everything about it has been said.
    Bad,
    /// The process was told to end by a signal.
    Signal(u8),
    /// The terminal failed; the code says how.
    Code(u8),
}

/// What screens or lines came to; a terminal that failed is told.
fn ended(exit: Result<Exit, TuiError>) -> Outcome {
    match exit {
        Ok(Exit::Quit) => Outcome::Fine,
        Ok(Exit::Signal(number)) => Outcome::Signal(number as u8),
        Err(error) => {
            plan::warn(&error.to_string());
            Outcome::Code(error.code() as u8)
        }
    }
}

/// Why a command could not be done: bad input or usage. Already worded for the user.
struct Bad(String);

impl<E: std::error::Error> From<E> for Bad {
    fn from(e: E) -> Self {
        Self(e.to_string())
    }
}

/// Runs the program with the process's arguments.
pub fn main() -> ExitCode {
    let cli = Cli::parse_from(negative::tied(std::env::args_os()));
    // Without a command the screens are opened, with what the environment says about them.
    let task = cli.task.or_else(|| Cli::parse_from(["dwellhand", "run"]).task);
    let done = match task.unwrap_or_default() {
        Task::Run(run) => run::run(&run),
        Task::Check(check) => check::check(&check),
        Task::Pin(pin) => pin::pin(&pin),
        Task::Plan(plan) => plan::plan(&plan),
        Task::Verify(verify) => verify::verify(&verify),
        Task::Mend(mend) => mend::mend(&mend),
        Task::Rhythm(rhythm) => rhythm::rhythm(&rhythm),
        Task::Simulate(simulate) => simulate::simulate(&simulate),
        Task::Board(board) => board::board(&board),
        Task::Report(report) => report::report(&report),
        Task::Replay(replay) => replay::replay(&replay),
        Task::Enter(enter) => enter::enter(&enter),
        Task::Drill(args) => drill::drill(&args),
        Task::Calc(calc) => calc::calc(&calc),
        Task::Explain(explain) => explain::explain(&explain),
        Task::Init(init) => newcomer::init(&init),
        Task::Keys(keys) => newcomer::keys(&keys),
        Task::Guide { name } => newcomer::guide(name.as_deref()),
        Task::Preferences(looks) => preferences::preferences(&looks),
        Task::Paths { json } => newcomer::paths(json),
        Task::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "dwellhand", &mut text);
            say(&String::from_utf8_lossy(&text))
        }
        Task::Man => manual::page().map_err(Bad::from).and_then(|page| say(&page)),
    };
    match done {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::No) => ExitCode::from(1),
        Ok(Outcome::Bad) => ExitCode::from(2),
        Ok(Outcome::Signal(number)) => ExitCode::from(128 + number),
        Ok(Outcome::Code(code)) => ExitCode::from(code),
        Err(Bad(text)) => {
            // If even that cannot be written there is nobody to tell.
            let _ = writeln!(std::io::stderr(), "{}", plain::lines(text.trim_end()));
            ExitCode::from(2)
        }
    }
}

/// Writes to standard output. A reader that has gone away is no error.
fn say(text: &str) -> Result<Outcome, Bad> {
    match std::io::stdout().write_all(plain::lines(text).as_bytes()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(Bad(format!("standard output: {e}"))),
        _ => Ok(Outcome::Fine),
    }
}

/// How many cells a line of standard output has; 80 if it is no terminal.
fn columns() -> u16 {
    let wide = if std::io::stdout().is_terminal() { crossterm::terminal::size().ok() } else { None };
    wide.map_or(80, |(wide, _)| wide.max(40))
}

/// A line in as many as it takes, each ended; those after the first begin so far to the right.
fn broken_at(line: &str, wide: u16, indent: usize) -> String {
    let room = usize::from(wide);
    let (mut out, mut rest, mut lead) = (String::new(), line.trim_end(), 0);
    while lead + rest.chars().count() > room {
        let spaces = rest.char_indices().take(room - lead + 1).filter(|(_, c)| *c == ' ').map(|(ix, _)| ix);
        // What stands first has to stand somewhere, however long it is.
        let Some(cut) = spaces.filter(|cut| !rest[..*cut].trim().is_empty()).last() else { break };
        out.push_str(&" ".repeat(lead));
        out.push_str(rest[..cut].trim_end());
        out.push('\n');
        (rest, lead) = (rest[cut..].trim_start(), indent);
    }
    out.push_str(&" ".repeat(lead));
    out.push_str(rest);
    out.push('\n');
    out
}

/// Writes a JSON document.
fn say_json(value: &serde_json::Value) -> Result<Outcome, Bad> {
    say(&plain::json(&format!("{value:#}\n")))
}
