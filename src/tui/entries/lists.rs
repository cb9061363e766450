//! The lists that lead to an entry.

use std::cmp::Reverse;

use super::{Asked, Kind, Pick, Step};
use crate::ids::{CarrierId, OrderId, TankId};
use crate::line::Quantity;
use crate::shift::Place;
use crate::shift::ledger::{Entry, Shade, Sign};
use crate::tui::app::App;
use crate::tui::dialog::{Item, List, Means};
use crate::units::many;
use crate::view::{BathRow, Board, CarrierFact, Mark, PartsRow};

impl Kind {
    const ALL: [Self; 10] = [
        Self::Unracked,
        Self::Found,
        Self::Inspected,
        Self::Bath,
        Self::BathChanged,
        Self::Note,
        Self::Received,
        Self::Racked,
        Self::Returned,
        Self::Signed,
    ];

    fn words(self) -> &'static str {
        match self {
            Self::Unracked => "count a carrier out: good, rework, scrap",
            Self::Found => "missing parts found in a tank",
            Self::Inspected => "inspection: shade, film, seal, marks",
            Self::Bath => "bath reading",
            Self::BathChanged => "bath changed",
            Self::Note => "note",
            Self::Received => "parts of an order counted in",
            Self::Racked => "parts racked on a carrier",
            Self::Returned => "parts given back as they came",
            Self::Signed => "initials: who works, hands over, takes over",
        }
    }
}

fn item(text: impl Into<String>, pick: Pick) -> Item {
    Item { text: text.into(), means: Means::Enter(pick) }
}

fn list(title: impl Into<String>, items: Vec<Item>, none: &str) -> Step {
    if items.is_empty() { Step::Nothing(none.to_owned()) } else { Step::List(List::of(title, items)) }
}

/// The first list: what suits the chosen carrier and tank, what is due, then everything.
pub fn begin(app: &App, board: &Board) -> Step {
    let mut items = Vec::new();
    let chosen = app.entries.selected;
    if let Some(c) = chosen.carrier.and_then(|c| board.carrier(c)) {
        items.extend(suits(c));
    }
    if let Some(tank) = chosen.tank {
        items.extend(board.baths.iter().filter(|b| b.tank == tank).flat_map(readings));
    }
    let waiting = board.carriers.iter().filter(|c| Some(c.id) != chosen.carrier && to_count(c));
    items.extend(waiting.take(3).map(count_out));
    let short = board.parts.iter().filter(|p| p.counts.missing > 0);
    items.extend(short.map(found));
    let wrong = |b: &&BathRow| Some(b.tank) != chosen.tank && b.checks.iter().any(|c| c.fault.is_some());
    let mut due: Vec<&BathRow> = board.baths.iter().filter(wrong).collect();
    due.sort_by_key(|b| b.shut.is_none());
    items.extend(due.into_iter().take(3).flat_map(readings));
    items.extend(Kind::ALL.into_iter().map(|k| item(k.words(), Pick::Kind(k))));
    let ago = app.entries.ago;
    if ago.0 > 0 {
        let then = board.clock_at(board.now - ago);
        return list(format!("What is entered, for {then} ({ago} ago)?"), items, "");
    }
    items.push(item("something that was a while ago ...", Pick::Late));
    list("What is entered?", items, "")
}

/// What can be entered about a carrier where it is.
fn suits(c: &CarrierFact) -> Vec<Item> {
    let mut items = Vec::new();
    if to_count(c) {
        items.push(count_out(c));
    }
    if is_off(c) {
        let again = if c.counted.inspected { " again" } else { "" };
        items.push(item(format!("inspect {}{again}", c.name), Pick::Inspected(c.id)));
    }
    if c.place == Place::Queued {
        items.push(racked(c));
    }
    items
}

fn is_off(c: &CarrierFact) -> bool {
    matches!(c.place, Place::Finished { .. } | Place::OffLine) && !c.marks.contains(&Mark::Cancelled)
}

fn to_count(c: &CarrierFact) -> bool {
    matches!(c.place, Place::Finished { .. }) && c.counted.out.is_none() && c.counted.racked > 0
}

fn count_out(c: &CarrierFact) -> Item {
    item(format!("count {} out: {} racked", c.name, many(c.counted.racked, "part")), Pick::Unracked(c.id))
}

fn racked(c: &CarrierFact) -> Item {
    item(format!("{}: {} racked", c.name, many(c.counted.racked, "part")), Pick::Racked(c.id))
}

fn found(p: &PartsRow) -> Item {
    let text = format!("found in a tank: {} of order {} are MISSING", p.counts.missing, p.name);
    item(text, Pick::Found(p.order))
}

fn readings(bath: &BathRow) -> Vec<Item> {
    let row = |c: &crate::view::CheckRow| {
        item(format!("{}: {}", bath.name, c.words()), Pick::Reading(bath.tank, c.quantity))
    };
    let mut items: Vec<Item> = bath.checks.iter().map(row).collect();
    if items.is_empty() {
        items.push(item(format!("{}: a reading", bath.name), Pick::Bath(bath.tank)));
    }
    items
}

/// Where a pick leads.
pub fn follow(app: &App, board: &Board, pick: Pick) -> Step {
    match pick {
        Pick::Kind(kind) => whom(board, kind),
        Pick::Unracked(c) => Step::Field(Asked::Unracked(c).field(app, board)),
        Pick::Racked(c) => Step::Field(Asked::Racked(c).field(app, board)),
        Pick::Found(order) => tanks_passed(board, order),
        Pick::FoundIn(order, tank) => Step::Field(Asked::Found(order, tank).field(app, board)),
        Pick::Inspected(c) => {
            let shades = [
                (Shade::Like, "as the reference"),
                (Shade::Lighter, "lighter"),
                (Shade::Darker, "darker"),
                (Shade::Uneven, "uneven"),
            ];
            let name = board.carrier(c).map_or("?", |c| c.name.as_str());
            let items = shades.map(|(shade, words)| item(words, Pick::Seen(c, shade)));
            list(format!("The shade of {name} against the reference?"), items.into(), "")
        }
        Pick::Seen(c, shade) => Step::Field(Asked::Seen(c, shade).field(app, board)),
        Pick::Bath(tank) => {
            let items = Quantity::ALL.map(|q| item(q.word(), Pick::Reading(tank, q)));
            list("What was measured?", items.into(), "")
        }
        Pick::Reading(tank, q) => Step::Field(Asked::Reading(tank, q).field(app, board)),
        Pick::Received(order) => Step::Field(Asked::Received(order).field(app, board)),
        Pick::Returned(order) => Step::Field(Asked::Returned(order).field(app, board)),
        Pick::Sign(sign) => Step::Field(Asked::Sign(sign).field(app, board)),
        Pick::Late => Step::Late,
        Pick::Do(entry) => {
            let words = match &entry {
                Entry::BathChanged { tank } => {
                    let bath = board.baths.iter().find(|b| b.tank == *tank);
                    format!("Entered: {}: bath changed", bath.map_or("?", |b| b.name.as_str()))
                }
                _ => "Entered".to_owned(),
            };
            Step::Enter(entry, words)
        }
    }
}

fn whom(board: &Board, kind: Kind) -> Step {
    let facts = || board.carriers.iter();
    match kind {
        Kind::Unracked => {
            let mut off: Vec<&CarrierFact> = facts().filter(|c| is_off(c)).collect();
            off.sort_by_key(|c| (c.counted.out.is_some(), c.id));
            list(
                "Which carrier is counted out?",
                off.into_iter().map(count_out).collect(),
                "No carrier is off the line.",
            )
        }
        Kind::Found => {
            let short = board.parts.iter().filter(|p| p.counts.missing > 0 || p.counts.found > 0).map(found);
            list("Whose parts?", short.collect(), "No parts are missing.")
        }
        Kind::Inspected => {
            let mut off: Vec<&CarrierFact> = facts().filter(|c| is_off(c)).collect();
            off.sort_by_key(|c| (c.counted.inspected, c.id));
            let row =
                |c: &CarrierFact| item(format!("{}   {}", c.name, seen(board, c)), Pick::Inspected(c.id));
            list("Which carrier?", off.into_iter().map(row).collect(), "No carrier is off the line.")
        }
        Kind::Bath => {
            let mut items: Vec<Item> =
                board.baths.iter().filter(|b| !b.checks.is_empty()).flat_map(readings).collect();
            items.extend(board.baths.iter().map(|b| {
                let more = if b.checks.is_empty() { "" } else { ", something else" };
                item(format!("{}{more}", b.name), Pick::Bath(b.tank))
            }));
            list("Which bath?", items, "")
        }
        Kind::BathChanged => {
            let row = |b: &BathRow| {
                item(
                    format!("{}   {}", b.name, many(b.loads, "load")),
                    Pick::Do(Entry::BathChanged { tank: b.tank }),
                )
            };
            list("Which bath was made up anew?", board.baths.iter().map(row).collect(), "")
        }
        Kind::Racked => {
            let queued = facts().filter(|c| c.place == Place::Queued);
            list("Which carrier?", queued.map(racked).collect(), "No carrier waits.")
        }
        Kind::Received => orders(board, |p| (p.counts.received, "received"), Pick::Received),
        Kind::Returned => orders(board, |p| (p.counts.waiting, "not racked"), Pick::Returned),
        Kind::Signed => {
            let rows = [
                (Sign::On, "works this shift"),
                (Sign::HandsOver, "hands the shift over"),
                (Sign::TakesOver, "takes the shift over"),
            ];
            list("Who does what?", rows.map(|(s, w)| item(w, Pick::Sign(s))).into(), "")
        }
        Kind::Note => Step::Field(Asked::Note.plain_field()),
    }
}

/// Whose a carrier is, and that it was inspected already.
fn seen(board: &Board, c: &CarrierFact) -> String {
    let order = board.parts.iter().find(|p| p.carriers.contains(&c.id));
    let order = order.map_or_else(String::new, |p| format!("{} {}", p.name, p.label));
    let again = if c.counted.inspected { ", inspected" } else { "" };
    format!("{order}{again}")
}

fn orders(board: &Board, figure: fn(&PartsRow) -> (i64, &'static str), pick: fn(OrderId) -> Pick) -> Step {
    let row = |p: &PartsRow| {
        let (n, what) = figure(p);
        item(format!("order {}  {}  {n} {what}", p.name, p.label), pick(p.order))
    };
    list("Which order?", board.parts.iter().map(row).collect(), "There are no orders.")
}

/// Tanks that carriers of the order went through first, the most of them short, with who went through them.
fn tanks_passed(board: &Board, order: OrderId) -> Step {
    let Some(parts) = board.parts.iter().find(|p| p.order == order) else {
        return Step::Nothing("There is no such order.".to_owned());
    };
    let through = |tank: TankId, own: bool| -> Vec<&str> {
        let of = |c: CarrierId| parts.carriers.contains(&c) == own;
        let went = board.carriers.iter().filter(|c| of(c.id) && c.counted.passed.contains(&tank));
        went.map(|c| c.name.as_str()).collect()
    };
    let mut baths: Vec<(&BathRow, Vec<&str>)> =
        board.baths.iter().map(|b| (b, through(b.tank, true))).collect();
    baths.sort_by_key(|(_, own)| Reverse(own.len().min(1)));
    let items = baths.into_iter().map(|(b, own)| {
        let since = if own.is_empty() { "none of this order".to_owned() } else { own.join(" ") };
        let others = through(b.tank, false).join(" ");
        let others = if others.is_empty() { others } else { format!("; also {others}") };
        item(format!("{}   {since}{others}", b.name), Pick::FoundIn(order, b.tank))
    });
    let title =
        format!("In which tank? (through it went; {} of {} missing)", parts.counts.missing, parts.name);
    list(title, items.collect(), "The line has no baths.")
}
