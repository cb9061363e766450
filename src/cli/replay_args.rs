//! What was typed after `replay`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::args::{CrewKind, Looks, Planner, speed, time_of_day};
use super::drill_args::initials;
use crate::ids::Seq;
use crate::units::Dur;

/// Arguments of `replay`.
#[derive(Debug, Args)]
#[group(skip)]
pub struct Replay {
    /// The shift's journal; it is only read. The shipped shift with upsets if none is named
    #[arg(value_name = "FILE")]
    pub shift: Option<PathBuf>,
    /// Print what was to be seen at this time of day, hh:mm or hh:mm:ss
    #[arg(long, value_name = "TIME", value_parser = time_of_day, conflicts_with_all = ["list", "why", "from", "compare"])]
    pub at: Option<Dur>,
    /// Print a list
    #[arg(long, value_enum, conflicts_with_all = ["why", "from", "compare"])]
    pub list: Option<Listed>,
    /// Print the call at this time of day or before this event, what was done, and what it cost, planned on from both
    #[arg(long, value_name = "TIME|EVENT", value_parser = place, conflicts_with_all = ["from", "compare"])]
    pub why: Option<Place>,
    /// Take the shift over at this time of day or after this event, in a new journal
    #[arg(long, value_name = "TIME|EVENT", value_parser = place, requires = "out", conflicts_with = "compare")]
    pub from: Option<Place>,
    /// The new journal
    #[arg(long, value_name = "FILE", requires = "from")]
    pub out: Option<PathBuf>,
    /// Let a simulated crew go on at once, without a screen; without it only the journal is made
    #[arg(long, value_enum, requires = "from")]
    pub crew: Option<CrewKind>,
    /// Until this time of day; as far as the shift that is taken over went if none is named
    #[arg(long, value_name = "TIME", value_parser = time_of_day, requires = "crew")]
    pub until: Option<Dur>,
    /// How many times faster than the wall clock the practice runs at your own keys
    #[arg(long, value_name = "N", value_parser = speed, default_value_t = 1.0)]
    pub speed: f64,
    /// Hold what happened against this practice that was taken over from it
    #[arg(long, value_name = "FORK")]
    pub compare: Option<PathBuf>,
    /// Tries at a better plan: for each side of --why, and for --crew after each event
    #[arg(long, value_name = "TRIES", default_value_t = 20_000)]
    pub budget: u64,
    /// Whose answers to "what next?" are kept, one to four letters; not kept if nobody says
    #[arg(long, value_name = "AB", value_parser = initials)]
    pub initials: Option<String>,
    #[command(flatten)]
    pub planner: Planner,
    /// Print JSON, times in seconds since the opening
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub looks: Looks,
}

/// What can be listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Listed {
    /// Alarms, broken windows, calls that were not followed, changes, notes
    Marks,
    /// Every event
    Events,
}

/// A place in a shift.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A time of day, since midnight.
    Time(Dur),
    /// An event, by its number.
    Event(Seq),
}

fn place(text: &str) -> Result<Place, String> {
    if let Ok(number) = text.parse::<u64>() {
        return Ok(Place::Event(Seq(number)));
    }
    let wrong = |_| "expected a time of day such as 10:40 or 10:40:30, or the number of an event".to_owned();
    time_of_day(text).map(Place::Time).map_err(wrong)
}
