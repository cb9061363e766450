//! `run`: the live screens of one shift.

use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use super::args::{Budget, CrewKind, Role, Run};
use super::plan::warn;
use super::preferences;
use super::seat::Seat;
use super::{Bad, Outcome, drill, inputs, pin};
use crate::civil::Opening;
use crate::clock::{Clock, ManualClock, RunningClock, wall_now};
use crate::journal::{self, Header};
use crate::line::{Line, OrderBook};
use crate::live::{Halted, Improving, LiveShift, Lock, NewShift, Notice, Problem};
use crate::plan::Settings;
use crate::shift::{Command, Who};
use crate::sim::Crew;
use crate::tui::{self, Begin, Cautions, Course, Ears, Exit, Options, Post};
use crate::units::Time;

/// What can be done without the PIN.
const NO_PIN: &str = "--role operator and --role watch need none";

/// How fast a crew is watched if nobody says.
const WATCH_SPEED: f64 = 20.0;

pub fn run(args: &Run) -> Result<Outcome, Bad> {
    let plain = preferences::chosen(&args.looks)?.plain() || !can_paint();
    // Asked before anything is opened or listens, on the terminal as it is.
    let lock = match args.role {
        Role::Supervisor => pin::opened(args.lock_after.0, "the supervisor's PIN: ", NO_PIN)?,
        _ => pin::lock(args.lock_after.0)?,
    };
    let drill = args.shift.as_deref().filter(|p| p.exists() && args.role != Role::Watch);
    if let Some(outcome) = drill.map(|path| drill::go_on(args, path)).transpose()?.flatten() {
        return Ok(outcome);
    }
    live(args, &Ears::listen(plain)?, lock, None, true).map(|(outcome, _)| outcome)
}

/// Shows a shift until the person leaves; says whether that was by a key or a word. `ends`: the debrief is shown then, or
/// when everybody is finished. `caution`: begins with the cautions.
pub fn live(
    args: &Run,
    ears: &Ears,
    lock: Option<Lock>,
    ends: Option<Time>,
    caution: bool,
) -> Result<(Outcome, bool), Bad> {
    let (mut shift, mut seat) = if args.role == Role::Watch { (watch(args)?, None) } else { open(args)? };
    shift.set_lock(lock);
    shift.set_improving(improving(args.budget.unwrap_or(Budget::EACH_EVENT)))?;
    if args.role != Role::Watch && !args.nominal {
        if let Some(path) = &args.pace {
            let pace = super::pace::of(path, shift.line())?;
            shift.submit(&Command::LearnPace { pace }, Who::Program)?;
        }
        shift.set_learning();
    }
    if let Some(crew) = args.crew {
        shift.set_hands(Box::new(Halted(Crew::new(crew.pace(), args.planner.seed))));
    }
    let watched = shift.is_watched();
    let brief = shift.header().map(drill::brief).transpose()?.flatten();
    shift.set_brief(brief);
    // A real shift goes by the wall's clock, and needs no seats.
    let first = matches!(seat, Some(Seat::First(_)));
    if first {
        meets(&mut shift)?;
    }
    let watch_speed = args.speed.unwrap_or(WATCH_SPEED);
    let seed = args.planner.seed;
    let own_speed = args.speed.or(shift.header().map(|h| h.speed)).unwrap_or(1.0);
    let mut begin = |shift: &mut LiveShift, what: Begin| {
        let now = shift.now();
        let speed = match what {
            // A practice with an end has begun: its clock runs already, and whoever works on it does.
            Begin::Crew if ends.is_some() => return,
            Begin::Crew => watch_speed,
            Begin::Time => own_speed,
        };
        if what == Begin::Crew {
            shift.set_hands(Box::new(Halted(Crew::new(CrewKind::Simulated.pace(), seed))));
        }
        shift.set_clock(Box::new(RunningClock::practice(now, speed)));
        if let Some(Err(Bad(text))) = seat.as_mut().map(|s| s.tell(now, speed)) {
            warn(&text);
        }
    };
    // The clock of a practice stands still until the cautions are read.
    let cautions = match (caution, first) {
        (false, _) => Cautions::Read,
        (true, false) => Cautions::First,
        (true, true) => Cautions::BeforeTime,
    };
    if first && !caution {
        begin(&mut shift, Begin::Time);
    }
    let path = shift.path().map(|p| p.display().to_string()).unwrap_or_default();
    let course = ends.map(|ends| Course { ends, speed: shift.speed() });
    let options = Options { cautions, course, ..options(args, first)? };
    let exit = tui::run(ears, &mut shift, &options, &mut begin);
    let left = matches!(exit, Ok(Exit::Quit));
    let outcome = match exit {
        Ok(Exit::Quit) if watched => Ok(Outcome::Fine),
        Ok(Exit::Quit) => {
            if first {
                // Its clock goes on from the last entry: leave one for the moment it was left.
                let note = Command::Note { text: "left the screens".to_owned() };
                if let Err(problem) = shift.submit(&note, Who::Operator) {
                    warn(&problem.to_string());
                }
            }
            warn(&farewell(&mut shift, &path));
            Ok(Outcome::Fine)
        }
        Ok(Exit::Signal(number)) => Ok(Outcome::Signal(number as u8)),
        Err(error) => {
            warn(&format!("{error}\nThe shift is kept in {path}"));
            Ok(Outcome::Code(error.code() as u8))
        }
    };
    outcome.map(|outcome| (outcome, left))
}

/// How to go on, or why not.
fn farewell(shift: &mut LiveShift, path: &str) -> String {
    match shift.tail() {
        Ok(_) => format!("The shift is kept in {path}\nGo on with: dwellhand run --shift {path}"),
        Err(problem) => {
            format!("{problem}\nA whole copy of it can be gone on with; else count the loads first")
        }
    }
}

/// Lets come by itself what comes to a practice: what is left of its drill, or what came to the shift it was taken over from.
/// Of several terminals only the first may.
pub(super) fn meets(shift: &mut LiveShift) -> Result<(), Bad> {
    match shift.header().map(drill::Ground::of_journal).transpose()?.flatten() {
        Some(ground) => ground.direct(shift),
        None => shift.meet_the_same(),
    }
    Ok(())
}

/// The most tries after one event, however long they take.
const MOST_TRIES: u64 = 5_000_000;

fn improving(budget: Budget) -> Improving {
    match budget {
        Budget::Tries(0) => Improving::Off,
        Budget::Tries(tries) => Improving::Behind { lasting: Duration::MAX, tries },
        Budget::Time(lasting) if lasting.is_zero() => Improving::Off,
        Budget::Time(lasting) => Improving::Behind { lasting, tries: MOST_TRIES },
    }
}

/// Opens the journal that is named, to look at only.
fn watch(args: &Run) -> Result<LiveShift, Bad> {
    let Some(path) = &args.shift else {
        return Err(Bad("--role watch needs --shift: the journal of the shift to look at".to_owned()));
    };
    if args.crew.is_some() || args.speed.is_some() || args.files.line.is_some() || args.files.orders.is_some()
    {
        let text = "--role watch only looks: leave --crew, --speed, --line, --recipes and --orders out";
        return Err(Bad(text.to_owned()));
    }
    let clock = |header: &Header, base: Time| -> Box<dyn Clock> {
        if header.practice {
            Box::new(RunningClock::practice(base, header.speed))
        } else {
            Box::new(RunningClock::real(base))
        }
    };
    let (shift, notices) = LiveShift::watch(path, rebuild, clock)?;
    for notice in notices {
        warn(&notice.to_string());
    }
    Ok(shift)
}

/// Opens the journal that is named, or begins one; with the seat at it, if it is a practice. From the first seat on time
/// stands still until somebody begins it.
fn open(args: &Run) -> Result<(LiveShift, Option<Seat>), Bad> {
    let settings = args.planner.settings();
    if let Some(path) = args.shift.as_ref().filter(|p| p.exists()) {
        let (_, header) = journal::Journal::follow(path).map_err(crate::live::Problem::from)?;
        let comes_back = comes_back(args, path, &header)?;
        let (mut shift, seat) = begun(args, path, &header)?;
        if let Some(words) = comes_back {
            shift.notice(Notice::GoesOn(words));
        }
        return Ok((shift, seat));
    }
    let texts = inputs::texts(&args.files)?;
    // The demo and everything a simulated crew does is practice: nothing real is moved, so it opens when the file says.
    let practice = texts.demo || args.crew.is_some() || args.speed.is_some();
    let real = Opening::at(wall_now());
    let (line, orders) = inputs::build(&texts, (!practice).then_some(real), &mut |w| warn(w))?;
    let speed = args.speed.unwrap_or(1.0);
    let path = args.shift.clone().unwrap_or_else(|| new_journal(if texts.demo { "demo" } else { "shift" }));
    if args.shift.is_some() {
        folder_is_there(&path)?;
    } else {
        journal::ensure_folder(&path)?;
    }
    let new = NewShift {
        texts: texts.stored(),
        zone: orders.opening.zone(),
        opening: orders.opening,
        book: orders.book,
        settings,
        practice,
        speed,
    };
    let clock = if practice { still(Time::ZERO) } else { Box::new(RunningClock::real(Time::ZERO)) };
    let mut shift = LiveShift::create(&path, Arc::new(line), new, clock)?;
    if args.shift.is_some() {
        // A name that was mistyped begins a shift too; whoever meant an old one is to see it.
        shift.notice(Notice::NewShift(format!("a new shift {}, in {}", texts.whose(), path.display())));
    }
    let seat = if practice { Some(Seat::take(&path)?) } else { None };
    Ok((shift, seat))
}

/// Opens a journal that is there, with the seat at it, if it is a practice.
fn begun(args: &Run, path: &Path, header: &Header) -> Result<(LiveShift, Option<Seat>), Bad> {
    let settings = args.planner.settings();
    if !header.practice {
        if args.crew.is_some() || args.speed.is_some() {
            let text = format!("{} is a real shift: no simulated crew, no other speed", path.display());
            return Err(Bad(text));
        }
        let wall = |_: &Header, base: Time| -> Box<dyn Clock> { Box::new(RunningClock::real(base)) };
        return Ok((reopen(path, settings, wall)?, None));
    }
    let seat = Seat::take(path)?;
    if let Seat::Joins(joined) = &seat {
        if args.crew.is_some() {
            return Err(Bad("another terminal runs this practice: leave --crew to it".to_owned()));
        }
        let runs_at = joined.speed();
        // Whoever comes back says again what the practice was begun with.
        if args.speed.is_some_and(|asked| (asked - runs_at).abs() > 1e-9) {
            let text = format!("another terminal runs this practice at speed {runs_at}: leave --speed to it");
            return Err(Bad(text));
        }
        let theirs = |_: &Header, base: Time| -> Box<dyn Clock> { Box::new(joined.clock(base)) };
        return Ok((reopen(path, settings, theirs)?, Some(seat)));
    }
    let own = |_: &Header, base: Time| still(base);
    Ok((reopen(path, settings, own)?, Some(seat)))
}

/// Whoever gives the files of a shift that has begun with them comes back to it, and that is said; with others it is not
/// theirs.
fn comes_back(args: &Run, path: &Path, header: &Header) -> Result<Option<String>, Bad> {
    if args.files.line.is_none() && args.files.orders.is_none() {
        return Ok(None);
    }
    let (given, begun) = (inputs::texts(&args.files)?.stored(), &header.texts);
    let (path, other) = (path.display(), not_there_yet(path));
    if given.fingerprint() == begun.fingerprint() {
        return Ok(Some(format!("{path} has begun with these files: the shift goes on")));
    }
    let differs = [
        ("line", given.line.text != begun.line.text),
        ("recipes", given.recipes.text != begun.recipes.text),
        ("orders", given.orders.text != begun.orders.text),
    ];
    let differs: Vec<&str> = differs.iter().filter(|(_, other)| *other).map(|(what, _)| *what).collect();
    Err(Bad(format!(
        "{path} has begun with other {} than these files hold: leave --line, --recipes and --orders out to go on with \
         it as it began; for a new shift with these files name a journal that is not there yet, such as --shift {}",
        differs.join(" and "),
        other.display()
    )))
}

/// A folder that a person names is not made: it is mistyped more often than wanted.
fn folder_is_there(journal: &Path) -> Result<(), Bad> {
    match journal.parent().filter(|f| !f.as_os_str().is_empty() && !f.is_dir()) {
        None => Ok(()),
        Some(folder) => {
            let (folder, journal) = (folder.display(), journal.display());
            Err(Bad(format!("{journal}: there is no folder {folder}; make it first, or put the name right")))
        }
    }
}

/// A name beside a journal's that no file has.
fn not_there_yet(path: &Path) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let names = (2..).map(|n: u32| path.with_file_name(format!("{stem}-{n}.jsonl")));
    names.into_iter().find(|p| !p.exists()).unwrap_or_else(|| path.to_owned())
}

/// The clock of a practice that has not begun. Whoever begins it tells the time to those that join.
fn still(at: Time) -> Box<dyn Clock> {
    let clock = ManualClock::default();
    clock.set(at);
    Box::new(clock)
}

pub(super) fn reopen(
    path: &Path,
    settings: Settings,
    clock: impl FnOnce(&Header, Time) -> Box<dyn Clock>,
) -> Result<LiveShift, Bad> {
    let (shift, notices) =
        LiveShift::reopen(path, settings, rebuild, clock).map_err(|e| damaged(path, &e))?;
    for notice in notices {
        warn(&notice.to_string());
    }
    Ok(shift)
}

/// What is wrong, and what can be done about a journal that is damaged in the middle.
pub(super) fn damaged(path: &Path, problem: &Problem) -> Bad {
    let hint = match problem {
        Problem::Fault(fault) if fault.line().is_some() => format!(
            "\nNothing was changed. `dwellhand mend {}` keeps all of it aside and goes on with what stands before.",
            path.display()
        ),
        _ => String::new(),
    };
    Bad(format!("{problem}{hint}"))
}

/// A journal of its own for every shift that is not named.
pub(super) fn new_journal(kind: &str) -> PathBuf {
    let stamp = wall_now().format("%Y%m%d-%H%M%S");
    journal::default_path(&format!("{kind}-{stamp}-{}.jsonl", std::process::id()))
}

/// Line and orders from what a journal keeps. Times of day count from its own opening, not from that of the orders file.
pub(super) fn rebuild(header: &Header) -> Result<(Line, OrderBook), String> {
    let texts = inputs::Texts::of(&header.texts);
    let (line, orders) =
        inputs::build(&texts, Some(header.opening), &mut |_| ()).map_err(|Bad(text)| text)?;
    Ok((line, orders.book))
}

/// True if the screens can be painted and keys read.
pub(super) fn can_paint() -> bool {
    at_terminal() && !std::env::var("TERM").is_ok_and(|term| term == "dumb")
}

/// Both ends of this program are a terminal.
pub(super) fn at_terminal() -> bool {
    std::io::stdout().is_terminal() && std::io::stdin().is_terminal()
}

/// What arguments, preferences and terminal make of the screens.
pub(super) fn options(args: &Run, practice: bool) -> Result<Options, Bad> {
    let looks = preferences::chosen(&args.looks)?;
    Ok(Options {
        reckon: Some(tui::app::Reckon(super::calc::typed)),
        color: looks.depth(),
        ground: looks.ground(),
        glyphs: looks.glyph_set(),
        calls: looks.calls(),
        mouse: looks.mouse(),
        post: match args.role {
            Role::Operator => Post::Operator,
            Role::Supervisor => Post::Supervisor,
            Role::Watch => Post::Watch,
        },
        practice: practice && args.crew.is_none(),
        cautions: Cautions::First,
        ..Options::default()
    })
}
