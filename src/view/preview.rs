//! What a change would do, as a person reads it: before, after, and who pays.

use super::At;
use super::alarms::{self, BreachRow};
use super::call;
use super::marks;
use super::words::{Spot, clean};
use crate::civil::Opening;
use crate::ids::{OrderId, TankId};
use crate::line::{Harm, Line, Visit};
use crate::plan::remaining;
use crate::schedule::Move;
use crate::shift::Place;
use crate::units::{Dur, Time, many};
use crate::verify::Breach;
use crate::whatif::{Effect, Prospect, effects, finish, is_same_call};

/// A shift of a finish that nobody minds.
const SAME: Dur = Dur::from_secs(30);

/// Before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    /// The whole in a sentence: what breaks, or that nothing more does.
    pub verdict: String,
    /// The worst harm of what breaks that did not.
    pub worst: Option<Harm>,
    /// Windows that break and did not.
    pub breaks: Vec<BreachRow>,
    /// Windows that are broken either way and break by more.
    pub worse: Vec<BreachRow>,
    /// Windows that were to break and are kept.
    pub keeps: Vec<BreachRow>,
    /// The next call as it is, and with the change if that is another one or at another time.
    pub call: (String, Option<String>),
    /// Who is later by most, in a sentence; empty if nobody is.
    pub pays: String,
    /// What is planned on though nobody knows it, in sentences: how long a stop lasts, whether current flows.
    pub guesses: Vec<String>,
    /// One row per order that is not finished yet, those that lose most first.
    pub finishes: Vec<FinishRow>,
    /// What both plans are worth, part by part, first thing first.
    pub parts: Vec<PartRow>,
}

/// When an order is finished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FinishRow {
    /// The order.
    pub order: String,
    /// What it is, for people.
    pub label: String,
    /// As it is, time of day; `no plan` if the plan does not finish it.
    pub before: String,
    /// With the change.
    pub after: String,
    /// By how much later, negative if earlier; `None` if one of both is not known.
    pub shift: Option<Dur>,
    /// It is finished on one side only, and now is not.
    pub lost: bool,
    /// When it is promised, time of day.
    pub due: Option<String>,
    /// By how much it is late with the change.
    pub late: Option<Dur>,
}

/// One part of what a plan is worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartRow {
    /// Which part.
    pub what: &'static str,
    /// As it is.
    pub before: String,
    /// With the change.
    pub after: String,
    /// Worse, better or the same.
    pub turn: Turn,
}

/// Which way a part goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// It gets worse.
    Worse,
    /// It stays.
    Same,
    /// It gets better.
    Better,
}

impl Turn {
    fn of(before: i64, after: i64) -> Self {
        match after.cmp(&before) {
            std::cmp::Ordering::Greater => Self::Worse,
            std::cmp::Ordering::Equal => Self::Same,
            std::cmp::Ordering::Less => Self::Better,
        }
    }

    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Worse => "worse",
            Self::Same => "",
            Self::Better => "better",
        }
    }
}

impl Preview {
    /// What the change makes of the shift. `line` is the line as its file says, `now` the instant of both prospects.
    pub fn of(line: &Line, opening: &Opening, before: &Prospect, after: &Prospect, now: Time) -> Self {
        let was = At { line: before.state.line(line), state: &before.state, opening, now };
        let is = At { line: after.state.line(line), state: &after.state, opening, now };
        let effects = effects(line, before, after);
        let (mut broken, mut worse, mut kept) = (Vec::new(), Vec::new(), Vec::new());
        let was_broken = |b: &Breach| before.breaches.iter().any(|a| a.is_of_same(b));
        for effect in &effects {
            match effect {
                Effect::Breaks(breach) if was_broken(breach) => worse.push(breach.clone()),
                Effect::Breaks(breach) => broken.push(breach.clone()),
                Effect::Keeps(breach) => kept.push(breach.clone()),
                Effect::Finish { .. } | Effect::Call { .. } => {}
            }
        }
        let planned = before.schedule.moves.first().copied();
        let standing = before.state.plan.as_ref();
        let standing = standing.and_then(|plan| remaining(&before.state, plan).moves.first().copied());
        // The call on the screens may not be what the plan without the change begins with; if it is, that has the newer time.
        let call = standing.filter(|call| planned.is_none_or(|m| !is_same_call(&m, call))).or(planned);
        let then = after.schedule.moves.first().copied();
        let another = match (call, then) {
            (Some(call), Some(then)) => {
                !is_same_call(&call, &then) || (then.start - call.start).0.abs() > SAME.0
            }
            _ => call != then,
        };
        let told = |at: At<'_>, m: Option<Move>| m.map_or_else(|| "none".to_owned(), |m| move_words(at, &m));
        let finishes = finishes(line, is, before, after);
        Self {
            verdict: verdict(&broken, &worse, &kept, after.breaches.len()),
            worst: broken.iter().chain(&worse).filter_map(|b| b.harm).min(),
            breaks: alarms::breaches(is, &broken),
            worse: alarms::breaches(is, &worse),
            keeps: alarms::breaches(was, &kept),
            call: (told(was, call), another.then(|| told(is, then))),
            pays: pays(&finishes),
            guesses: guesses(is, after).into_iter().chain(in_doubt(was, is)).collect(),
            finishes,
            parts: parts(opening, before, after),
        }
    }

    /// True if nothing that is shown differs.
    pub fn is_idle(&self) -> bool {
        self.breaks.is_empty()
            && self.worse.is_empty()
            && self.keeps.is_empty()
            && self.call.1.is_none()
            && self.finishes.iter().all(|f| !f.lost && f.shift.is_none_or(|s| s.0.abs() <= SAME.0))
    }
}

/// Whole minutes in words, seconds below one.
fn minutes(by: Dur) -> String {
    match by.0.abs() / 60_000 {
        0 => format!("{} s", by.0.abs() / 1000),
        m if m < 60 => format!("{m} min"),
        m => format!("{} h {:02} min", m / 60, m % 60),
    }
}

/// Who pays, in a sentence.
fn pays(finishes: &[FinishRow]) -> String {
    match finishes.iter().filter(|f| f.lost).count() {
        0 => {}
        1 => return format!("Order {} pays: no plan finishes it then.", finishes[0].order),
        n => return format!("{n} orders pay: no plan finishes them then."),
    }
    let slowest = finishes.iter().find_map(|f| Some((f, f.shift.filter(|s| *s > SAME)?)));
    slowest.map_or_else(String::new, |(f, by)| format!("Order {} pays most: {} later.", f.order, minutes(by)))
}

/// The hoists and tanks that nobody knows the return of, and when the plan goes on with each.
fn guesses(at: At<'_>, plan: &Prospect) -> Vec<String> {
    let (line, state, moves) = (at.line, at.state, &plan.schedule.moves);
    let unknown = |h| state.standing.stop(h, at.now).is_some_and(|stop| stop.until.is_none());
    let hoists = line.hoists.iter().filter(|(id, _)| unknown(*id)).filter_map(|(id, hoist)| {
        let then = marks::goes_on(at, moves.iter().filter(|m| m.hoist == id).map(|m| m.start))?;
        Some(format!(
            "Nobody knows when {} runs: planned as if it moved again at {then}.",
            clean(&hoist.name)
        ))
    });
    let lost = |id: &TankId| state.tanks[*id].lost.is_some();
    let down = |m: &Move| Some(m.start + m.phases(line, &state.book)?.to_down());
    let tanks = marks::lost_tanks(at).map(|(names, are)| {
        let then = marks::goes_on(at, moves.iter().filter(|m| lost(&m.to)).filter_map(down));
        let then = then.map_or_else(String::new, |t| format!("; what is on its way is planned in at {t}"));
        format!("Nobody knows when {names} {are} back: no bar is started that needs it{then}.")
    });
    hoists.chain(tanks).collect()
}

/// The loads under current in tanks that go out of service: whether it flows nobody says, and their dwell counts on.
fn in_doubt(was: At<'_>, is: At<'_>) -> Option<String> {
    let goes_out = |tank: TankId| is.state.tanks[tank].from > is.now && was.state.tanks[tank].from <= was.now;
    let loads = is.state.carriers.iter().filter_map(|(id, carrier)| match carrier.place {
        Place::InTank { tank, visit: Visit::Step(n), .. } if goes_out(tank) => {
            let step = is.line.step(is.state.book.carriers[id].recipe, n);
            step.current
                .is_some()
                .then(|| format!("{} in {}", is.carrier_name(id), clean(&is.line.tanks[tank].name)))
        }
        _ => None,
    });
    let loads: Vec<String> = loads.collect();
    let counts = if loads.len() == 1 { "counts" } else { "count" };
    (!loads.is_empty()).then(|| {
        format!(
            "{} {counts} on as if current flowed: where none does, the film comes out thinner than the dwell says. Hold \
             what has to wait for it, or change its dwell.",
            loads.join(", ")
        )
    })
}

fn verdict(broken: &[Breach], worse: &[Breach], kept: &[Breach], all: usize) -> String {
    let count = |n: usize| many(n, "window");
    let mut words = if broken.is_empty() && !worse.is_empty() {
        let s = if worse.len() == 1 { "s" } else { "" };
        format!("No other window breaks; {} broken already break{s} by more.", count(worse.len()))
    } else if broken.is_empty() {
        match all {
            0 => "Every window is kept.".to_owned(),
            n => format!("Nothing more breaks; {} cannot be kept either way.", count(n)),
        }
    } else {
        let more = if worse.is_empty() { String::new() } else { format!(" Worse: {}.", count(worse.len())) };
        format!("BREAKS {}.{more}", count(broken.len()))
    };
    if !kept.is_empty() {
        words = format!("{words} Saves {}.", count(kept.len()));
    }
    words
}

fn move_words(at: At<'_>, m: &Move) -> String {
    let (from, to) = (Spot::of(at.line, m.from), Spot::of(at.line, m.to));
    let hoist = if at.line.hoists.len() > 1 {
        format!("{}: ", clean(&at.line.hoists[m.hoist].name))
    } else {
        String::new()
    };
    let (carrier, clock) = (at.carrier_name(m.carrier), at.clock(call::begins(at, m)));
    if call::is_under_way(at.state, m) {
        return format!("{hoist}{carrier} into {} at {clock}", to.name);
    }
    format!("{hoist}{carrier} {} to {} at {clock}", from.name, to.name)
}

fn finishes(line: &Line, at: At<'_>, before: &Prospect, after: &Prospect) -> Vec<FinishRow> {
    let book = &after.state.book;
    let over = |order: OrderId| {
        let mut of = book.carriers.iter().filter(|(_, c)| c.order == order);
        let known = before.state.book.orders.get(order).is_some();
        known && of.all(|(id, _)| !(at.state.on_line(id) || at.state.carriers[id].place == Place::Queued))
    };
    let known = |prospect: &Prospect, order: OrderId| {
        prospect.state.book.orders.get(order).and_then(|_| finish(line, prospect, order))
    };
    let clock = |t: Option<Time>| t.map_or_else(|| "no plan".to_owned(), |t| at.minutes(t));
    let mut rows: Vec<(Dur, FinishRow)> = book
        .orders
        .ids()
        .filter(|order| !over(*order) || known(before, *order) != known(after, *order))
        .map(|order| {
            let (was, is) = (known(before, order), known(after, order));
            let of = &book.orders[order];
            let shift = was.zip(is).map(|(b, a)| a - b);
            let row = FinishRow {
                order: clean(&of.name),
                label: clean(&of.label),
                before: clock(was),
                after: clock(is),
                shift,
                lost: was.is_some() && is.is_none() && !over(order),
                due: of.due.map(|t| at.minutes(t)),
                late: is.zip(of.due).map(|(f, d)| f - d).filter(|l| *l > Dur::ZERO),
            };
            let loses = if row.lost { Dur::UNLIMITED } else { shift.unwrap_or(Dur::ZERO) };
            (loses, row)
        })
        .collect();
    rows.sort_by_key(|(loses, _)| -loses.0);
    rows.into_iter().map(|(_, row)| row).collect()
}

/// The parts of the objective. What has no end, or no plan that brings it out, is more than any figure: a `+` says so.
fn parts(opening: &Opening, before: &Prospect, after: &Prospect) -> Vec<PartRow> {
    let (b, a) = (&before.worth, &after.worth);
    let count = |what, b: usize, a: usize| PartRow {
        what,
        before: b.to_string(),
        after: a.to_string(),
        turn: Turn::of(b as i64, a as i64),
    };
    let and_more = |text: String, more: usize| if more > 0 { format!("{text}+") } else { text };
    let time = |what, [b, a]: [Dur; 2], more: [usize; 2]| PartRow {
        what,
        before: and_more(b.to_string(), more[0]),
        after: and_more(a.to_string(), more[1]),
        turn: match Turn::of(more[0] as i64, more[1] as i64) {
            Turn::Same => Turn::of(b.whole_secs(), a.whole_secs()),
            turn => turn,
        },
    };
    let left = [b.left, a.left];
    // Plans that bring out different loads are no better for being done sooner.
    let like = |row: PartRow| PartRow { turn: if b.left == a.left { row.turn } else { Turn::Same }, ..row };
    let closed = [0, 0];
    let of = |p: &Prospect, is: &dyn Fn(&Breach) -> bool| p.breaches.iter().filter(|b| is(b)).count();
    let both = |is: &dyn Fn(&Breach) -> bool| [of(before, is), of(after, is)];
    let out = |what, harm: Harm| {
        let open = both(&|breach| breach.open_ended && breach.harm == Some(harm));
        time(what, [b.excess[harm as usize], a.excess[harm as usize]], open)
    };
    let [scrap_before, scrap_after] = both(&|breach| breach.harm == Some(Harm::Scrap));
    let [open_before, open_after] = both(&|breach| breach.open_ended);
    vec![
        count("windows broken", before.breaches.len(), after.breaches.len()),
        count("of them scrap", scrap_before, scrap_after),
        count("of them without end", open_before, open_after),
        out("out of windows, scrap", Harm::Scrap),
        out("out of windows, rework", Harm::Rework),
        out("out of windows, shade", Harm::Shade),
        out("out of windows, nuisance", Harm::Nuisance),
        count("carriers not finished", b.left, a.left),
        time("late, all orders", [b.late, a.late], left),
        time("late, rush counts most", [b.weighted_late, a.weighted_late], left),
        like(PartRow {
            what: "last hoist is done",
            before: opening.clock_minutes(b.finish),
            after: opening.clock_minutes(a.finish),
            turn: Turn::of(b.finish.0 / 60_000, a.finish.0 / 60_000),
        }),
        like(time("cranes idle", [b.idle, a.idle], closed)),
        like(time("dwells off target", [b.off_target, a.off_target], closed)),
        like(time("shade spread in orders", [b.spread, a.spread], closed)),
    ]
}
