//! The morning on which a rectifier trips at 10:40, on two terminals, from the trip to the recovery. Made to be looked at:
//!
//! ```sh
//! DWELLHAND_STORY=/tmp cargo test --test it -- --ignored ten_forty --nocapture
//! ```
//!
//! It runs three times faster than the wall, so that the search has time between two moves, prints what is seen when, and leaves both screens side by side as text with
//! colours in that folder. Nothing in it waits for a time that a slow machine could miss.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use dwellhand::civil::Opening;
use dwellhand::clock::ManualClock;
use dwellhand::files::{self, Source};
use dwellhand::journal::{StoredText, StoredTexts};
use dwellhand::line::Harm;
use dwellhand::line::{Line, OrderBook};
use dwellhand::live::{Improving, LiveShift, NewShift};
use dwellhand::plan::Settings;
use dwellhand::shift::{Command, Who};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::whatif::{Weighed, weigh};

use crate::pty::{Seen, Terminal};

const ORDERS: &str = include_str!("../../demo-data/orders-trip.json");

/// The demo line with the orders of that morning.
fn texts() -> StoredTexts {
    let (line, recipes, _) = files::demo();
    let stored = |name: &str, text: String| StoredText { name: name.to_owned(), text };
    StoredTexts {
        line: stored("line.json", line.text.to_owned()),
        recipes: stored("recipes.json", recipes.text.to_owned()),
        orders: stored("orders-trip.json", ORDERS.to_owned()),
    }
}

fn built(texts: &StoredTexts) -> (Line, OrderBook, Opening) {
    let source = |t: &'static str, text| Source { name: t, text };
    let line = files::read_line(
        source("line.json", texts.line.text.as_str()),
        source("recipes.json", texts.recipes.text.as_str()),
    );
    let line = line.unwrap_or_else(|f| panic!("{f:?}")).value;
    let orders = files::read_orders(source("orders", texts.orders.text.as_str()), &line, None);
    let orders = orders.unwrap_or_else(|f| panic!("{f:?}")).value;
    (line, orders.book, orders.opening)
}

/// The shift as it is at a time of day; a punctual crew has followed the calls until then.
fn until(clock_time: &str, path: Option<&Path>) -> (LiveShift, ManualClock) {
    let texts = texts();
    let (line, book, opening) = built(&texts);
    let clock = ManualClock::default();
    let line = Arc::new(line);
    let settings = Settings::default();
    let mut shift = if let Some(path) = path {
        let zone = "+01:00".to_owned();
        let new = NewShift { texts, opening, zone, book, settings, practice: true, speed: 1.0 };
        LiveShift::create(path, line, new, Box::new(clock.clone())).unwrap()
    } else {
        let mut shift = LiveShift::in_memory(line, opening, Box::new(clock.clone()), settings);
        shift.submit(&Command::Open { book }, Who::Supervisor).unwrap();
        shift
    };
    shift.set_improving(Improving::AtOnce { tries: 4_000 }).unwrap();
    shift.set_hands(Box::new(Crew::new(Pace::PUNCTUAL, 1)));
    let (h, m) = clock_time.split_once(':').unwrap();
    let end = opening.next_time_of_day(h.parse().unwrap(), m.parse().unwrap());
    go_on(&mut shift, &clock, end);
    (shift, clock)
}

fn go_on(shift: &mut LiveShift, clock: &ManualClock, end: Time) {
    while shift.now() < end {
        let next = shift.next_wake().min(end).max(shift.now() + Dur(1));
        clock.set(next);
        shift.tick().unwrap();
    }
}

/// The trip as it is told: all tanks of the rectifier, for so long.
fn trip(shift: &LiveShift, minutes: i64, now: Time) -> Weighed {
    let line = shift.line();
    let until = Some(now + Dur::from_mins(minutes));
    let named = |name: &str| line.tanks.find(|t| t.name == name).unwrap();
    let out: Vec<Command> = ["T12", "T13", "T14", "T15"]
        .map(|t| Command::TankOut { tank: named(t), until, why: String::new() })
        .to_vec();
    let mut weighed = weigh(line, shift.history(), &out, now, &Settings::default(), None).unwrap();
    weighed.improve(line, &Settings::default(), 4_000, &mut || false);
    weighed
}

/// What the story rests on: about 10:40 five carriers are on the line, and a trip ruins work if nothing is done; not at every
/// minute, because there are moments at which all loads are where they can wait.
#[test]
fn about_ten_forty_five_carriers_are_on_the_line_and_a_trip_does_harm() {
    let (mut shift, clock) = until("10:36", None);
    let mut harmful = 0;
    for _ in 0..10 {
        let now = shift.now() + Dur::from_mins(1);
        go_on(&mut shift, &clock, now);
        let weighed = trip(&shift, 20, now);
        assert_eq!(weighed.before.breaches, []);
        let state = shift.state();
        let five = state.carriers.ids().filter(|c| state.on_line(*c)).count() >= 5;
        let lost = weighed.after.breaches.iter().filter(|b| b.harm <= Some(Harm::Rework)).count();
        harmful += usize::from(five && lost > 0);
        println!("{now}: five {five}, {lost} lost");
    }
    assert!((2..10).contains(&harmful), "{harmful} of 10");
}

#[test]
#[ignore = "a morning to be looked at, five minutes long"]
fn ten_forty() {
    let folder = tempfile::tempdir().unwrap();
    drop(until("10:39", Some(&folder.path().join("morning.jsonl"))));
    let mut morning = Morning::begin(folder.path(), "morning.jsonl");
    morning.until("10:40");
    morning.picture("1-calm");

    // The rectifier trips. The supervisor sees what that does before saying it.
    morning.change("out of service");
    morning.sees("Which tank?");
    morning.press(&["rectifier", "\r"]);
    morning.sees("Until when?");
    morning.press(&["20 min", "\r"]);
    morning.sees("BREAKS");
    morning.picture("2-harm");
    let took = morning.commit("rectifier tripped", &["out of service until"]);
    println!("the trip is on the operator's screen {} ms after Enter", took.as_millis());

    // The program looks for ways out by itself. Where the best is to change nothing, the calls do that already; what a person
    // can add is looked at next.
    morning.ways_out();
    println!("{}", morning.supervisor.look(Seen::text));
    morning.picture("3-ways-out");
    if morning.supervisor.look(|seen| seen.has("1. change nothing")) {
        morning.press(&["\u{1b}[B"]);
    }
    morning.press(&["\r"]);
    morning.goes_on_until("before and after", |seen| {
        seen.has("Before and after from") && !seen.has("being made better")
    });
    morning.picture("4-the-best");
    println!("{}", morning.supervisor.look(Seen::text));
    let took = morning.commit("keeps most", &["keeps most", "to rework"]);
    println!("the way out is with the operator {} ms after Enter", took.as_millis());
    morning.picture("5-committed");

    morning.until("10:52");
    morning.change("back into service");
    morning.sees("Which tank?");
    morning.press(&["rectifier", "\r"]);
    morning.goes_on_until("before and after", |seen| seen.has("Before and after from"));
    morning.picture("6-recovery");
    morning.commit("reset and tried", &["back in service"]);
    morning.press(&["5"]);
    morning.until("10:58");
    morning.picture("7-over");
    println!("{}", morning.supervisor.look(Seen::text));
}

/// Shift time goes so many times faster than the wall's.
const SPEED: i64 = 3;

/// Two people at two terminals on one practice.
struct Morning {
    operator: Terminal,
    supervisor: Terminal,
    /// When the operator pressed last.
    pressed: Instant,
    pictures: Option<PathBuf>,
}

impl Morning {
    fn begin(home: &Path, journal: &str) -> Self {
        let speed = SPEED.to_string();
        let operator = Terminal::run(home, &["run", "--shift", journal, "--speed", &speed], &[]);
        let mut morning = Self {
            supervisor: Terminal::run(home, &["--version"], &[]),
            operator,
            pressed: Instant::now(),
            pictures: std::env::var_os("DWELLHAND_STORY").map(PathBuf::from),
        };
        Self::wait("the cautions", 20, || morning.operator.look(|s| s.has("read this")));
        morning.operator.press("\r");
        Self::wait("the call", 20, || morning.operator.look(|s| s.has("What happened")));
        // What the supervisor changes is read there.
        morning.operator.press("4");
        morning.supervisor = Terminal::run(home, &["run", "--shift", journal, "--role", "supervisor"], &[]);
        morning.sees("read this");
        morning.supervisor.press("\r");
        morning.sees("8 Pages");
        morning
    }

    fn wait(what: &str, seconds: u64, mut is_so: impl FnMut() -> bool) {
        let until = Instant::now() + Duration::from_secs(seconds);
        while !is_so() {
            assert!(Instant::now() < until, "waited for {what}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// The operator does what the call says, once it says so, and takes the time that takes.
    fn follow(&mut self) {
        if self.pressed.elapsed() < Duration::from_millis(900) {
            return;
        }
        let key = self.operator.look(|seen| {
            let text = seen.text();
            let due = ["start within", "lower within", "no limit", "PAST LATEST START", "TOO LONG IN AIR"];
            match () {
                () if text.contains("Was it really done just now?") => Some("n"),
                () if text.contains("WAIT, then") || text.contains("STOPPED") => None,
                () if due.iter().any(|words| text.contains(words)) => Some(" "),
                () => None,
            }
        });
        if let Some(key) = key {
            self.operator.press(key);
            self.pressed = Instant::now();
        }
    }

    /// Goes on until the supervisor sees something; the operator follows the calls meanwhile.
    fn goes_on_until(&mut self, what: &str, is_so: impl Fn(&Seen) -> bool) {
        let until = Instant::now() + Duration::from_secs(400);
        while !self.supervisor.look(&is_so) {
            let text = || self.supervisor.look(Seen::text);
            assert!(Instant::now() < until, "waited for {what}; the screen is\n{}", text());
            self.follow();
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    fn sees(&mut self, words: &str) {
        self.goes_on_until(words, |seen| seen.has(words));
    }

    /// Goes on until a time of day.
    fn until(&mut self, clock: &str) {
        let parts: Vec<i64> = clock.split(':').map(|p| p.parse().unwrap()).collect();
        let wanted = parts[0] * 3600 + parts[1] * 60;
        self.goes_on_until(clock, |seen| seen.clock().is_some_and(|now| now >= wanted));
    }

    /// The supervisor presses keys one after the other, as fast as a person would.
    fn press(&mut self, keys: &[&str]) {
        for key in keys {
            self.supervisor.press(key);
            let until = Instant::now() + Duration::from_millis(250);
            while Instant::now() < until {
                self.follow();
                std::thread::sleep(Duration::from_millis(20));
            }
        }
    }

    /// Opens the list of changes, with or without ways out before them, and takes one by what it begins with.
    fn change(&mut self, what: &str) {
        self.press(&["w"]);
        self.goes_on_until("a list", |seen| seen.has("What to change?") || seen.has("Ways out, the best"));
        self.press(&[what, "\r"]);
    }

    /// Opens the list of ways out, as soon as there are some.
    fn ways_out(&mut self) {
        for _ in 0..60 {
            self.press(&["w"]);
            self.goes_on_until("a list", |seen| {
                seen.has("What to change?") || seen.has("Ways out, the best")
            });
            if self.supervisor.look(|seen| seen.has("Ways out, the best")) {
                return;
            }
            self.press(&["\u{1b}", "", ""]);
            self.goes_on_until("no list", |seen| !seen.has("What to change?"));
        }
        panic!("no ways out:\n{}", self.supervisor.look(Seen::text));
    }

    /// Commits what is shown with a reason. How long the operator's screen took to show it, seen from the last key.
    /// Shown are any of some words: a long change leaves no room for the reason. One that costs more by now than was shown is refused; the supervisor looks again and says it again.
    fn commit(&mut self, why: &str, shows: &[&str]) -> Duration {
        for _ in 0..5 {
            self.press(&["\r"]);
            self.sees("Why?");
            self.press(&[why]);
            self.supervisor.press("\r");
            let said = Instant::now();
            let answer = |seen: &Seen| seen.has("Committed") || seen.has("nothing was changed");
            Self::wait("an answer", 30, || self.supervisor.look(answer));
            if self.supervisor.look(|seen| seen.has("Committed")) {
                let shown = |seen: &Seen| shows.iter().any(|words| seen.has(words));
                Self::wait(why, 10, || self.operator.look(shown));
                return said.elapsed();
            }
            self.goes_on_until("a new look", |seen| !seen.has("nothing was changed"));
        }
        panic!("refused five times:\n{}", self.supervisor.look(Seen::text));
    }

    /// Both screens side by side.
    fn picture(&self, name: &str) {
        let Some(folder) = &self.pictures else { return };
        std::fs::create_dir_all(folder).unwrap();
        let (left, right) = (self.operator.look(Seen::rows), self.supervisor.look(Seen::rows));
        let both = left.iter().zip(&right).map(|(l, r)| format!("{l}\x1b[0m | {r}"));
        let text = both.collect::<Vec<_>>().join("\x1b[0m\n");
        std::fs::write(folder.join(format!("{name}.ansi")), text).unwrap();
        for (who, seen) in [("operator", &left), ("supervisor", &right)] {
            std::fs::write(folder.join(format!("{name}-{who}.ansi")), seen.join("\x1b[0m\n")).unwrap();
        }
    }
}
