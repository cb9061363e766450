//! What the user typed, as typed words; nothing is opened or resolved here.

use std::path::PathBuf;
use std::time::Duration;

use clap::builder::BoolishValueParser;
use clap::{Args, Parser, Subcommand, ValueEnum};

use super::calc_args::{Calc, Explain};
use super::drill_args::Drill;
use super::replay_args::Replay;
use crate::plan::{Reserve, Settings};
use crate::shift::ledger::{Quantity, Shade, Sign};
use crate::units::Dur;

/// What holds beside the arguments, for the long help and the manual page.
const OUTSIDE: &str = "\
Exit codes:
  0        fine
  1        the answer is no: breaches found, or no plan
  2        bad input or usage
  128 + n  after signal n

Environment:
  DWELLHAND_THEME, _COLOR, _GLYPHS, _BELL, _NOTIFY, _MOUSE, _PLAIN  as the flags of these names; a flag comes first
  DWELLHAND_PREFERENCES  a preferences file in place of the one that `dwellhand paths` names
  NO_COLOR               no colours";

/// Calls the next crane move on an anodising line, live.
///
/// dwellhand advises. It does not drive the crane and is no interlock or safety system. Without a command it opens the
/// live screens on the embedded demo line. `dwellhand guide tutorial` is one page to begin with.
#[derive(Debug, Parser)]
#[command(version, about, long_about, after_long_help = OUTSIDE)]
pub struct Cli {
    #[command(subcommand)]
    pub task: Option<Task>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Task {
    /// Open the live screens of a shift (the default)
    Run(Run),
    /// Check line, recipe and order files and report everything that is wrong with them
    Check(Check),
    /// Plan the orders of a line from an empty line on
    Plan(Plan),
    /// Judge a plan: recompute it and list every breach; or a journal: its chain, and whether all of it can have been
    Verify(Verify),
    /// Make a journal that is damaged in the middle usable again, as far as it can be vouched for; all of it is kept aside
    Mend(Mend),
    /// Find the shortest repeating cycle of one recipe, on one hoist or several, and prove it
    Rhythm(Rhythm),
    /// Run a shift without a screen, with a simulated crew
    Simulate(Simulate),
    /// Say how a shift stands: what the supervisor's screens show, as text or JSON
    Board(Board),
    /// Pages about a shift: the whole shift, its start, its handover, one carrier's record, a picture for the wall
    Report(Report),
    /// Look at a shift again: at any speed, backwards, why; take it over as a practice; compare the two
    Replay(Replay),
    /// Enter what was counted, inspected, measured or signed into a shift's journal
    Enter(Enter),
    /// Set, clear or check the PIN that supervisor's actions ask for
    Pin(Pin),
    /// Practise on a made-up shift: list drills, run one, see somebody's progress
    Drill(Drill),
    /// Work out process figures: film, current, power, heat, seal, rinse, classes, units; alone, list what there is
    Calc(Calc),
    /// Explain a kind of bath or a word of the trade
    Explain(Explain),
    /// Write a small line with recipes and orders to begin your own with
    Init(Init),
    /// Print the keys of the screens and the words of --plain
    Keys(Keys),
    /// Read a short guide: first steps, your own line, two terminals, reading a plan, getting data out
    Guide {
        /// Which; all of them are listed if none is named
        name: Option<String>,
    },
    /// Say how the screens would look and where each setting comes from
    Preferences(Preferences),
    /// Say where files are kept
    Paths {
        /// Print as JSON
        #[arg(long)]
        json: bool,
    },
    /// Print shell completions
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man,
}

impl Default for Task {
    fn default() -> Self {
        Self::Run(Run::default())
    }
}

/// Which line, recipes and orders; the embedded demo where nothing is named.
#[derive(Debug, Clone, Default, Args)]
pub struct Files {
    /// Line file; the embedded demo line if none is named
    #[arg(long, value_name = "FILE", requires = "recipes")]
    pub line: Option<PathBuf>,
    /// Recipe file that goes with the line
    #[arg(long, value_name = "FILE", requires = "line")]
    pub recipes: Option<PathBuf>,
    /// Orders file
    #[arg(long, value_name = "FILE")]
    pub orders: Option<PathBuf>,
}

/// How the planner is set.
#[derive(Debug, Clone, Copy, Args)]
pub struct Planner {
    /// Seconds kept free before each loaded move and before the end of the window it ends: one figure, or figures by
    /// kind of move such as critical=15,short=10,other=5 (critical: with an air limit; short: into a window of a minute
    /// or less); a kind that is not named keeps 10
    #[arg(long, value_name = "SECONDS", default_value = "10", value_parser = reserve_by_kind)]
    pub reserve: Reserve,
    /// Seed of everything random
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = seed)]
    pub seed: u64,
}

impl Default for Planner {
    fn default() -> Self {
        Self { reserve: Settings::default().reserve, seed: 1 }
    }
}

fn reserve(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(s) if (0.0..=600.0).contains(&s) => Ok(s),
        _ => Err("expected seconds between 0 and 600".to_owned()),
    }
}

/// How long plans are made better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Budget {
    /// So many trial insertions: the same plan on every machine.
    Tries(u64),
    /// So long.
    Time(Duration),
}

impl Budget {
    /// What `run` allows after each event.
    pub const EACH_EVENT: Self = Self::Time(Duration::from_secs(10));
}

fn budget(text: &str) -> Result<Budget, String> {
    let wrong = || "expected a count of tries such as 200000, or a time such as 1s or 250ms".to_owned();
    if let Ok(tries) = text.parse() {
        return Ok(Budget::Tries(tries));
    }
    let (number, unit) = match text.strip_suffix("ms") {
        Some(number) => (number, 0.001),
        None => (text.strip_suffix('s').ok_or_else(wrong)?, 1.0),
    };
    let seconds = number.parse::<f64>().map_err(|_| wrong())? * unit;
    if (0.0..=3600.0).contains(&seconds) {
        Ok(Budget::Time(Duration::from_secs_f64(seconds)))
    } else {
        Err(wrong())
    }
}

fn reserve_by_kind(text: &str) -> Result<Reserve, String> {
    if !text.contains('=') {
        return reserve(text).map(|s| Reserve::all(Dur::from_secs_f64(s)));
    }
    let mut kinds = Settings::default().reserve;
    for part in text.split(',') {
        let (kind, seconds) = part.split_once('=').unwrap_or((part, ""));
        let by = Dur::from_secs_f64(reserve(seconds)?);
        match kind.trim() {
            "critical" => kinds.critical = by,
            "short" => kinds.short = by,
            "other" => kinds.other = by,
            _ => return Err("expected critical, short or other before each =".to_owned()),
        }
    }
    Ok(kinds)
}

/// Arguments of `run`.
#[derive(Debug, Default, Args)]
pub struct Run {
    #[command(flatten)]
    pub files: Files,
    #[command(flatten)]
    pub planner: Planner,
    /// Journal of the shift: opened if it exists, begun if not
    #[arg(long, value_name = "FILE")]
    pub shift: Option<PathBuf>,
    /// Who sits at this terminal
    #[arg(long, value_enum, default_value_t)]
    pub role: Role,
    /// Let a simulated crew do the moves (practice only)
    #[arg(long, value_enum)]
    pub crew: Option<CrewKind>,
    /// How many times faster than the wall clock (practice only)
    #[arg(long, value_name = "N", value_parser = speed)]
    pub speed: Option<f64>,
    /// Begin with the pace that this journal shows; what this shift shows counts once there are enough moves of its own
    #[arg(long, value_name = "JOURNAL", conflicts_with = "nominal")]
    pub pace: Option<PathBuf>,
    /// Learn no pace: the times of the line file count, whatever people really need
    #[arg(long)]
    pub nominal: bool,
    /// How long a better plan is looked for after each event: a time such as 2s, or a count of tries; 0 for not at all
    #[arg(long, value_name = "BUDGET", value_parser = budget)]
    pub budget: Option<Budget>,
    /// With a PIN: minutes without a key after which a supervisor's terminal asks for it again
    #[arg(long, value_name = "MINUTES", default_value = "10", value_parser = minutes)]
    pub lock_after: LockAfter,
    #[command(flatten)]
    pub looks: Looks,
}

/// How the screens look: a flag, else the environment, else the preferences file, else as the terminal says.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "How it looks")]
pub struct Looks {
    /// What the screens are painted on
    #[arg(long, value_enum, env = "DWELLHAND_THEME", hide_env_values = true)]
    pub theme: Option<Theme>,
    /// When to use colour, or how many
    #[arg(long, value_enum, env = "DWELLHAND_COLOR", hide_env_values = true)]
    pub color: Option<Color>,
    /// Which marks the terminal can show
    #[arg(long, value_enum, env = "DWELLHAND_GLYPHS", hide_env_values = true)]
    pub glyphs: Option<Glyphs>,
    /// Ring the bell when an alarm sets in
    #[arg(long, value_name = "YES|NO", num_args = 0..=1, default_missing_value = "yes", require_equals = true,
        value_parser = BoolishValueParser::new(), env = "DWELLHAND_BELL", hide_env_values = true)]
    pub bell: Option<bool>,
    /// Ask the terminal for a note on the desktop when an alarm sets in
    #[arg(long, value_name = "YES|NO", num_args = 0..=1, default_missing_value = "yes", require_equals = true,
        value_parser = BoolishValueParser::new(), env = "DWELLHAND_NOTIFY", hide_env_values = true)]
    pub notify: Option<bool>,
    /// Let the wheel move about and a click choose rows and tabs; the terminal's own selecting then needs its Shift key
    #[arg(long, value_name = "YES|NO", num_args = 0..=1, default_missing_value = "yes", require_equals = true,
        value_parser = BoolishValueParser::new(), env = "DWELLHAND_MOUSE", hide_env_values = true)]
    pub mouse: Option<bool>,
    /// No screen: a line for each change, words typed instead of keys; also what happens where there is no terminal
    #[arg(long, value_name = "YES|NO", num_args = 0..=1, default_missing_value = "yes", require_equals = true,
        value_parser = BoolishValueParser::new(), env = "DWELLHAND_PLAIN", hide_env_values = true)]
    pub plain: Option<bool>,
    /// Preferences file; preferences.json in the configuration folder if none is named
    #[arg(long, value_name = "FILE", env = "DWELLHAND_PREFERENCES", hide_env_values = true)]
    pub preferences: Option<PathBuf>,
}

/// What the screens are painted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Theme {
    /// The terminal's own colours
    #[default]
    Auto,
    /// Light letters on black
    Dark,
    /// Dark letters on white, for a bright hall
    Light,
}

/// Arguments of `init`.
#[derive(Debug, Args)]
pub struct Init {
    /// The folder; made if it is not there
    #[arg(value_name = "DIR", default_value = ".")]
    pub folder: PathBuf,
}

/// Arguments of `keys`.
#[derive(Debug, Args)]
pub struct Keys {
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `preferences`.
#[derive(Debug, Args)]
pub struct Preferences {
    #[command(flatten)]
    pub looks: Looks,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

/// How long an open lock stays open without a key.
#[derive(Debug, Clone, Copy)]
pub struct LockAfter(pub Duration);

impl Default for LockAfter {
    fn default() -> Self {
        Self(Duration::from_secs(600))
    }
}

fn minutes(text: &str) -> Result<LockAfter, String> {
    match text.parse::<f64>() {
        Ok(m) if (0.1..=1440.0).contains(&m) => Ok(LockAfter(Duration::from_secs_f64(m * 60.0))),
        _ => Err("expected minutes between 0.1 and 1440".to_owned()),
    }
}

/// Arguments of `pin`.
#[derive(Debug, Args)]
pub struct Pin {
    /// What to do
    #[arg(value_enum)]
    pub task: PinTask,
}

/// What `pin` does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PinTask {
    /// Say whether one is set
    Status,
    /// Set one; asks for the one so far
    Set,
    /// Take it away; asks for it
    Clear,
    /// Ask for it
    Check,
}

fn slower(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(p) if (-30.0..=100.0).contains(&p) => Ok(p),
        _ => Err("expected per cent between -30 and 100".to_owned()),
    }
}

/// How many times faster than the wall a practice may go.
pub(super) const SPEEDS: std::ops::RangeInclusive<f64> = 0.1..=600.0;

pub(super) fn speed(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(s) if SPEEDS.contains(&s) => Ok(s),
        _ => Err("expected a number between 0.1 and 600".to_owned()),
    }
}

/// Who sits at a terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Role {
    /// Confirms picks and places
    #[default]
    Operator,
    /// Confirms, and rearranges the line
    Supervisor,
    /// Only looks at the shift another terminal runs; needs --shift and writes nothing
    Watch,
}

/// Simulated crews.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CrewKind {
    /// Human pace and rare slips
    Simulated,
    /// Exactly as called
    Punctual,
}

/// Glyph sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Glyphs {
    /// Judge by terminal and locale
    #[default]
    Auto,
    /// Everything a good terminal font has
    Full,
    /// What a plain console font has
    Console,
    /// Nothing but ASCII
    Ascii,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Color {
    /// Unless `NO_COLOR` is set
    #[default]
    Auto,
    /// Always
    Always,
    /// Never; bold and reverse stay
    Never,
    /// The sixteen every terminal has
    #[value(name = "16")]
    #[serde(rename = "16")]
    Sixteen,
    /// The palette of 256
    #[value(name = "256")]
    #[serde(rename = "256")]
    Many,
    /// Any colour
    Rgb,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// Line, recipe and order files; which is which is read from their "format"
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print findings as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub struct Plan {
    #[command(flatten)]
    pub files: Files,
    #[command(flatten)]
    pub planner: Planner,
    /// How long the first answer is made better: a time such as 1s or 250ms, or a count of tries such as 200000, which
    /// gives the same plan on every machine; 0 for the first answer
    #[arg(long, value_name = "BUDGET", default_value = "1s", value_parser = budget)]
    pub budget: Budget,
    /// Plan with the pace that the moves of this journal show, where there are enough
    #[arg(long, value_name = "JOURNAL")]
    pub pace: Option<PathBuf>,
    /// Plan with several reserves, each for the whole budget, and print what each costs in throughput
    #[arg(long)]
    pub reserve_cost: bool,
    /// Print the plan as JSON, the form that `verify` reads
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub struct Verify {
    #[command(flatten)]
    pub files: Files,
    /// The plan, or the journal of a shift; a plan from standard input if none is named
    #[arg(value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// The hash the journal's last line should have, or the first digits of it, as noted when the shift ended
    #[arg(long, value_name = "HASH", requires = "plan", value_parser = hash)]
    pub expect: Option<String>,
    /// Print breaches as JSON
    #[arg(long)]
    pub json: bool,
}

fn hash(text: &str) -> Result<String, String> {
    if (8..=64).contains(&text.len()) && text.chars().all(|c| c.is_ascii_hexdigit()) {
        Ok(text.to_ascii_lowercase())
    } else {
        Err("expected 8 to 64 hexadecimal digits".to_owned())
    }
}

/// Arguments of `mend`.
#[derive(Debug, Args)]
pub struct Mend {
    /// The journal
    #[arg(value_name = "FILE")]
    pub shift: PathBuf,
}

/// Arguments of `rhythm`.
#[derive(Debug, Args)]
pub struct Rhythm {
    /// Line file; the embedded demo line if none is named
    #[arg(long, value_name = "FILE", requires = "recipes")]
    pub line: Option<PathBuf>,
    /// Recipe file that goes with the line
    #[arg(long, value_name = "FILE", requires = "line")]
    pub recipes: Option<PathBuf>,
    /// Order file, checked as elsewhere; a rhythm is of a recipe and asks for no orders
    #[arg(long, value_name = "FILE")]
    pub orders: Option<PathBuf>,
    /// The recipe; the first of the file if none is named
    #[arg(long, value_name = "NAME")]
    pub recipe: Option<String>,
    /// The hoist that does all moves, the others standing out of its way; all hoists together if none is named
    #[arg(long, value_name = "NAME")]
    pub hoist: Option<String>,
    /// Seconds kept free after each loaded move
    #[arg(long, value_name = "SECONDS", default_value_t = 0.0, value_parser = reserve)]
    pub reserve: f64,
    /// The most nodes the search may look at, for each answer
    #[arg(long, value_name = "N", default_value_t = 2_000_000)]
    pub nodes: u64,
    /// Print the rhythm as JSON, times in milliseconds
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `simulate`.
#[derive(Debug, Args)]
#[expect(clippy::struct_excessive_bools, reason = "each is a flag of its own")]
pub struct Simulate {
    #[command(flatten)]
    pub files: Files,
    #[command(flatten)]
    pub planner: Planner,
    /// Tries at a better plan after each event that changes the order of moves; four times as many before the first
    /// move, a hundredth after an event that the plan had foreseen, saved up until it is worth a search
    #[arg(long, value_name = "TRIES", default_value_t = 20_000)]
    pub budget: u64,
    /// Length of the shift
    #[arg(long, default_value_t = 8.0, value_parser = hours)]
    pub hours: f64,
    /// The crew
    #[arg(long, value_enum, default_value_t = CrewKind::Simulated)]
    pub crew: CrewKind,
    /// Who decides the next move
    #[arg(long, value_enum, default_value_t)]
    pub policy: Policy,
    /// Carriers that a simple rule allows on the line at once; with several shifts 3 to 8 are tried if nothing is said,
    /// and each rule keeps the number that brings out most carriers with nothing broken
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub most: Option<u16>,
    /// What goes wrong: crane stops, a tank out of service; the same for every policy under one seed
    #[arg(long, value_enum, default_value_t)]
    pub trouble: TroubleKind,
    /// By how many per cent the crew's loaded moves take longer than the line file says
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0, value_parser = slower, allow_negative_numbers = true)]
    pub slower: f64,
    /// Let the calls learn the crew's pace while the shift runs
    #[arg(long)]
    pub learn: bool,
    /// Begin with the pace that this journal shows
    #[arg(long, value_name = "JOURNAL")]
    pub pace: Option<PathBuf>,
    /// Run one shift for each seed from A to B, both included, and print a table
    #[arg(long, value_name = "A..B", value_parser = seeds, conflicts_with_all = ["runs", "seed", "out"])]
    pub seeds: Option<Seeds>,
    /// Run N shifts, from seed 1 on, and print a table
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=100_000),
        conflicts_with_all = ["seed", "out"])]
    pub runs: Option<u64>,
    /// Run every policy over the same seeds and compare
    #[arg(long, conflicts_with_all = ["policy", "out"])]
    pub compare: bool,
    /// Upset each shift in the middle, by a crane stop, a lost tank, an operator who is away or a rush order, and compare
    /// what may be done about it; 50 seeds if nothing is said
    #[arg(long, conflicts_with_all = ["policy", "out", "compare", "trouble"])]
    pub upsets: bool,
    /// Write the shift's journal to this file
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Print the outcome as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `board`.
#[derive(Debug, Args)]
pub struct Board {
    /// The shift's journal; it is only read
    #[arg(value_name = "FILE")]
    pub shift: PathBuf,
    /// As it stood at this time of day, hh:mm or hh:mm:ss; at the last entry if none is named
    #[arg(long, value_name = "TIME", value_parser = time_of_day)]
    pub at: Option<Dur>,
    /// What carriers are sorted by
    #[arg(long, value_enum, default_value_t)]
    pub sort: SortBy,
    /// Only carriers, tanks and moves that have all these words
    #[arg(long, value_name = "WORDS", default_value = "")]
    pub find: String,
    /// Print JSON, times in seconds since the opening
    #[arg(long)]
    pub json: bool,
}

/// `report`
#[derive(Debug, Args)]
pub struct Report {
    /// The shift's journal; it is only read. Several for the trend
    #[arg(value_name = "FILE", required = true)]
    pub shifts: Vec<PathBuf>,
    /// As it stood at this time of day, hh:mm or hh:mm:ss; at the last entry if none is named
    #[arg(long, value_name = "TIME", value_parser = time_of_day)]
    pub at: Option<Dur>,
    /// Which page
    #[arg(long, value_enum, default_value_t)]
    pub page: PageKind,
    /// The record of this carrier instead of a page about the shift
    #[arg(long, value_name = "CARRIER", conflicts_with = "page")]
    pub carrier: Option<String>,
    /// In which form; svg is the picture of the shift
    #[arg(long, value_enum, default_value_t)]
    pub form: Form,
}

/// Which page about a shift.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum PageKind {
    /// What came out, what broke, what it cost
    #[default]
    Shift,
    /// What there is to know before the first move
    Start,
    /// What whoever comes next must know
    Handover,
    /// Many shifts side by side
    Trend,
    /// What broke, which calls were followed and how soon, and what others would have made of it
    Debrief,
    /// How long moves really took, against the model, and what the plan makes of it
    Pace,
}

/// In which form a page is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Form {
    /// Columns lined up
    #[default]
    Text,
    Markdown,
    Csv,
    Json,
    /// A page to print
    Html,
    /// The shift drawn over time, or the trend drawn
    Svg,
}

/// `enter`
#[derive(Debug, Args)]
pub struct Enter {
    /// The shift's journal
    #[arg(value_name = "FILE")]
    pub shift: PathBuf,
    /// Who enters it
    #[arg(long, value_enum, default_value_t, global = true)]
    pub by: Hand,
    /// How long ago it was, mm:ss: the entry is marked as late
    #[arg(long, value_name = "TIME", value_parser = ago, global = true)]
    pub ago: Option<Dur>,
    /// What is entered
    #[command(subcommand)]
    pub kind: EntryKind,
}

/// Who enters something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Hand {
    Operator,
    #[default]
    Supervisor,
}

/// What is entered.
#[derive(Debug, Subcommand)]
pub enum EntryKind {
    /// Initials of whoever works the shift, hands it over or takes it over
    Sign {
        /// What the signature means
        #[arg(value_enum)]
        sign: SignArg,
        /// One to eight letters or figures
        initials: String,
    },
    /// All parts of an order counted in so far
    Received {
        /// The order, such as A101
        order: String,
        /// All that came in so far, not only the last lot
        parts: u32,
    },
    /// All parts on a carrier
    Racked {
        /// The carrier, such as B01
        carrier: String,
        /// How many hang on it
        parts: u32,
    },
    /// What was counted when a carrier was unracked; what is missing is worked out
    Unracked {
        /// The carrier, such as B01
        carrier: String,
        /// Parts that are good
        #[arg(long)]
        good: u32,
        /// Parts to be stripped and done again
        #[arg(long, default_value_t = 0)]
        rework: u32,
        /// Parts that are lost
        #[arg(long, default_value_t = 0)]
        scrap: u32,
    },
    /// Missing parts found in a tank
    Found {
        /// The order whose parts are missing
        order: String,
        /// Where they were found
        tank: String,
        /// How many; 0 takes back what was entered before
        parts: u32,
    },
    /// Parts given back as they came
    Returned {
        /// The order
        order: String,
        /// How many; 0 takes back what was entered before
        parts: u32,
    },
    /// What was seen on a finished carrier
    Inspected {
        /// The carrier, such as B01
        carrier: String,
        /// Its colour against the reference
        #[arg(long, value_enum)]
        shade: ShadeArg,
        /// Film thickness in micrometres
        #[arg(long)]
        um: Option<f64>,
        /// Whether the seal holds
        #[arg(long, value_enum)]
        seal: Option<SealArg>,
        /// Marks, scratches, burns
        #[arg(long, default_value = "")]
        marks: String,
    },
    /// A bath that was measured: degC, g/l, uS/cm, or pH
    Bath {
        /// The bath's tank
        tank: String,
        /// What was measured
        #[arg(value_enum, ignore_case = true)]
        quantity: QuantityArg,
        /// The reading, in degC, g/l, uS/cm or pH
        value: f64,
    },
    /// A bath that was made up anew
    BathChanged {
        /// The bath's tank
        tank: String,
    },
    /// Anything else
    Note {
        /// What the next shift should know
        text: String,
    },
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SignArg {
    /// Works this shift
    On,
    /// Ends it, and hands over to the next
    HandsOver,
    /// Takes over from the one before
    TakesOver,
}

impl From<SignArg> for Sign {
    fn from(sign: SignArg) -> Self {
        match sign {
            SignArg::On => Self::On,
            SignArg::HandsOver => Self::HandsOver,
            SignArg::TakesOver => Self::TakesOver,
        }
    }
}

/// Colour against the reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShadeArg {
    /// As the reference
    Like,
    /// Lighter than the reference
    Lighter,
    /// Darker than the reference
    Darker,
    /// Not the same all over
    Uneven,
}

impl From<ShadeArg> for Shade {
    fn from(shade: ShadeArg) -> Self {
        match shade {
            ShadeArg::Like => Self::Like,
            ShadeArg::Lighter => Self::Lighter,
            ShadeArg::Darker => Self::Darker,
            ShadeArg::Uneven => Self::Uneven,
        }
    }
}

/// How a seal test came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SealArg {
    Holds,
    Fails,
}

impl SealArg {
    /// True if it holds.
    pub fn holds(self) -> bool {
        self == Self::Holds
    }
}

/// What can be measured in a bath.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum QuantityArg {
    Temperature,
    Concentration,
    Conductivity,
    Ph,
}

impl From<QuantityArg> for Quantity {
    fn from(quantity: QuantityArg) -> Self {
        match quantity {
            QuantityArg::Temperature => Self::Temperature,
            QuantityArg::Concentration => Self::Concentration,
            QuantityArg::Conductivity => Self::Conductivity,
            QuantityArg::Ph => Self::Ph,
        }
    }
}

/// What carriers are sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum SortBy {
    /// Least slack first
    #[default]
    Slack,
    /// Along the rail
    Tank,
    /// By order
    Order,
    /// The first to be finished first
    Finish,
}

/// A length of time that is over.
fn ago(text: &str) -> Result<Dur, String> {
    Dur::parse(text).ok_or_else(|| "expected minutes and seconds such as 12:30, or seconds".to_owned())
}

/// Time since midnight.
pub(super) fn time_of_day(text: &str) -> Result<Dur, String> {
    let wrong = || "expected a time of day such as 14:05 or 14:05:30".to_owned();
    let parts: Vec<i64> = text
        .split(':')
        .map(|p| p.parse::<u8>().map(i64::from))
        .collect::<Result<_, _>>()
        .map_err(|_| wrong())?;
    match parts[..] {
        [h, m] if h < 24 && m < 60 => Ok(Dur::from_secs(h * 3600 + m * 60)),
        [h, m, s] if h < 24 && m < 60 && s < 60 => Ok(Dur::from_secs(h * 3600 + m * 60 + s)),
        _ => Err(wrong()),
    }
}

/// Who decides the next move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Policy {
    /// This program: the crew follows its calls
    #[default]
    Calls,
    /// A careful person: the carrier whose window ends first
    FirstDue,
    /// A careful person: the carrier that has been ready longest
    FirstCome,
    /// A careful person: the carrier nearest to the crane
    Nearest,
}

/// How much goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum TroubleKind {
    /// Nothing
    #[default]
    None,
    /// A few crane stops, an anodise tank out for an hour
    Ordinary,
    /// Twice as much
    Rough,
}

/// Seeds from the first to the last, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seeds {
    pub first: u64,
    pub last: u64,
}

fn seed(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| "expected a whole number from 0 up, such as 7".to_owned())
}

fn seeds(text: &str) -> Result<Seeds, String> {
    let bounds = text.split_once("..").and_then(|(a, b)| Some((a.parse().ok()?, b.parse().ok()?)));
    match bounds {
        Some((first, last)) if first <= last && last - first < 100_000 => Ok(Seeds { first, last }),
        _ => Err("expected two whole numbers such as 1..100, the smaller first".to_owned()),
    }
}

fn hours(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(h) if h > 0.0 && h <= 72.0 => Ok(h),
        _ => Err("expected hours, more than 0 and at most 72".to_owned()),
    }
}
