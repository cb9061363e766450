//! Pages about a shift: start, handover, the whole shift, one carrier's record; and the picture of it.
//!
//! A page is plain data ([`Page`]) that can be had as text, Markdown, CSV or JSON. Nothing here knows a disk or a terminal.

mod bench;
mod chart;
mod debrief;
mod fitted;
mod html;
mod outages;
mod pace;
mod page;
mod pages;
mod racks;
mod rates;
mod readings;
mod record;
mod shift;
mod trend;
mod troubles;
mod waiting;
mod water;

pub use chart::svg;
pub use debrief::debrief;
pub use pace::pace;
pub use page::{Body, Page, Part, columns, has_figures};
pub use pages::{handover, start};
pub use rates::{AlarmRates, rates};
pub use record::{Judged, record};
pub use shift::shift;
pub use trend::{Figures, figures, trend, trend_svg};

use crate::civil::Opening;
use crate::ids::{HoistId, OrderId};
use crate::line::Line;
use crate::shift::{Event, History, State};
use crate::units::{Dur, Time};
use crate::view::{Board, log_of};

/// What a page is made from.
#[derive(Clone, Copy)]
pub struct Source<'a> {
    /// The line as its file says.
    pub line: &'a Line,
    /// All that happened.
    pub history: &'a History,
    /// The same as people see it, plan included.
    pub board: &'a Board,
    /// Where the axis lies on the wall clock.
    pub opening: &'a Opening,
    /// The instant the page is for.
    pub now: Time,
}

impl Source<'_> {
    fn state(&self) -> &State {
        self.history.state()
    }

    /// The line as changes have made it.
    fn changed_line(&self) -> &Line {
        self.state().line(self.line)
    }

    /// Lines of the log about some events, oldest first, without those taken back.
    fn said(&self, wanted: impl Fn(&Event) -> bool) -> Vec<String> {
        let rows = log_of(self.line, self.history, self.opening, self.now, wanted);
        let late = |by: Dur| format!(", entered {by} later");
        rows.into_iter()
            .filter(|r| !r.undone)
            .map(|r| format!("{} {} {}{}", r.at, r.who, r.text, r.late.map_or(String::new(), late)))
            .collect()
    }

    /// Which crane, in words: with one hoist there is no need to say it.
    fn crane(&self, hoist: HoistId) -> String {
        match self.line.hoists.len() {
            1 => "the crane".to_owned(),
            _ => format!("crane {}", self.line.hoists[hoist].name),
        }
    }

    fn clock(&self, t: Time) -> String {
        self.opening.clock(t)
    }

    /// The instant of the page with its day: `as of 2026-11-25 12:21:05 (+01:00)`.
    fn as_of(&self) -> String {
        format!("as of {} {} ({})", self.opening.date(self.now), self.clock(self.now), self.opening.zone())
    }

    /// From an instant to the page's, with the day: `2026-11-25, 06:00:00 to 12:21:05 (+01:00)`.
    fn span(&self, from: Time) -> String {
        let (first, last) = (self.opening.date(from), self.opening.date(self.now));
        let until = if first == last { String::new() } else { format!("{last} ") };
        let zone = self.opening.zone();
        format!("{first}, {} to {until}{} ({zone})", self.clock(from), self.clock(self.now))
    }
}

/// The cautions that go under every page.
const CAUTION: &str = "This page advises and records what was entered; it is no interlock and no safety system. Local \
    codes, safety data sheets, licensed trades and the site's safety officer govern.";

/// Columns of every table that sets outcomes side by side: what came out, and windows broken by harm.
const OUTCOME: [&str; 6] = ["finished", "nothing broken", "scrap", "rework", "shade", "nuisance"];

/// What stands in them; `broken` as [`crate::line::Harm::ALL`] has it.
fn outcome_cells(finished: usize, clean: usize, broken: [usize; 4]) -> impl Iterator<Item = String> {
    [finished, clean].into_iter().chain(broken).map(|n| n.to_string())
}

/// Parts that are missing; a journal from before more than was racked was refused may have too many.
fn missing_words(missing: i64) -> String {
    match missing {
        0 => "0".to_owned(),
        n if n > 0 => format!("{n} MISSING"),
        n => format!("{} too many", -n),
    }
}

/// Parts of every order.
fn counts_part(source: &Source<'_>) -> Part {
    let state = source.state();
    // Empty racks on their way to be stripped carry no parts.
    let is_strip = |o: OrderId| source.changed_line().recipes[state.book.orders[o].recipe].strips_racks;
    let row = |order: OrderId| {
        let c = state.ledger.counts(state, order);
        let spec = &state.book.orders[order];
        let mut row = vec![spec.name.clone(), spec.label.clone()];
        let racked = [c.to_start, c.on_line, c.to_count];
        let waiting = if c.waiting < 0 { missing_words(c.waiting) } else { c.waiting.to_string() };
        row.extend([c.received.to_string(), waiting]);
        row.extend(racked.map(|n| n.to_string()));
        row.extend([c.good, c.rework, c.scrap, c.returned, c.found].map(|n| n.to_string()));
        row.push(missing_words(c.missing));
        row
    };
    Part::table(
        "Parts",
        &[
            "order",
            "what",
            "received",
            "not racked",
            "to start",
            "on line",
            "to count",
            "good",
            "rework",
            "scrap",
            "returned",
            "found",
            "missing",
        ],
        state.book.orders.ids().filter(|o| !is_strip(*o)).map(row).collect(),
    )
}
