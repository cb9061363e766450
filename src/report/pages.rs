//! The page a shift begins with and the page it is handed over with.

use super::outages::{caught, outages, over};
use super::readings::in_force;
use super::{CAUTION, Page, Part, Source, counts_part};
use crate::ids::TankId;
use crate::line::{EntrySide, Priority, Role};
use crate::shift::ledger::{Entry, Shade, Sign};
use crate::shift::{Event, counting};
use crate::units::Dur;
use crate::verify::happened_by;
use crate::view::{Readiness, Stage, inspection, to_the_second};

/// What there is to know before the first move: tanks that heat up, orders, sides, who works.
pub fn start(source: &Source<'_>) -> Page {
    let state = source.state();
    let line = source.changed_line();
    let book = &state.book;
    let orders = book.orders.iter().map(|(id, o)| {
        let carriers = book.carriers.iter().filter(|(_, c)| c.order == id).count();
        let side = match o.entry {
            EntrySide::Any => "any".to_owned(),
            EntrySide::At(t) => line.tanks[t].name.clone(),
        };
        vec![
            o.name.clone(),
            o.label.clone(),
            line.recipes[o.recipe].label.clone(),
            carriers.to_string(),
            o.parts.to_string(),
            side,
            source.clock(o.ready),
            o.due.map_or(String::new(), |t| source.clock(t)),
            match o.priority {
                Priority::Rush => "RUSH".to_owned(),
                Priority::Normal => String::new(),
                Priority::Low => "low".to_owned(),
            },
        ]
    });
    let stations = line.tanks.iter().filter_map(|(_, t)| match t.role {
        Role::Station { load, unload } => {
            let what = match (load, unload) {
                (true, true) => "load and unload",
                (true, false) => "load",
                _ => "unload",
            };
            Some(format!("{}: {what}", t.name))
        }
        Role::Bath(_) => None,
    });
    Page {
        title: format!("Start of shift: {}", source.board.line_name),
        lead: vec![source.as_of()],
        parts: vec![
            signatures(source),
            Part::lines("Stations", stations.collect()),
            tanks(source),
            Part::table(
                "Orders",
                &["order", "what", "recipe", "carriers", "parts", "enters", "racked", "due", "priority"],
                orders.collect(),
            ),
            changes(source),
        ],
        foot: CAUTION.to_owned(),
    }
}

/// Everything whoever comes next must know: loads with deadlines, what stands and why, what is open.
pub fn handover(source: &Source<'_>) -> Page {
    let board = source.board;
    let mut loads: Vec<_> =
        board.loads.iter().filter(|l| matches!(l.stage, Stage::OnLine | Stage::AtBench)).collect();
    loads.sort_by_key(|l| (l.out_by.is_none(), l.out_by));
    let loads = loads.into_iter().map(|l| {
        vec![
            l.carrier.clone(),
            l.at.clone(),
            format!("{}/{} {}", l.step.0, l.step.1, l.what),
            l.out_by_clock.clone().unwrap_or_else(|| "-".to_owned()),
            l.slack.map_or_else(|| "-".to_owned(), Dur::as_left),
            l.harm.map_or_else(|| "-".to_owned(), |h| h.word().to_owned()),
            l.order.clone(),
            l.finish_clock.clone().unwrap_or_else(|| "-".to_owned()),
        ]
    });
    let queue = board.queue.iter().take(10).map(|q| {
        let or_dash = |t: &Option<String>| t.clone().unwrap_or_else(|| "-".to_owned());
        let said: Vec<&str> = q.marks.iter().map(|m| m.word()).collect();
        let (release, finish, due) = (or_dash(&q.release), or_dash(&q.finish), or_dash(&q.due));
        vec![q.carrier.clone(), q.order.clone(), release, finish, due, said.join(" ")]
    });
    let shelved = board.alarms.iter().filter(|a| a.is_shelved());
    let standing = board.alarms.iter().filter(|a| !a.is_shelved());
    let notes = source.said(|e| matches!(e, Event::Noted { .. }));
    let broken = happened_by(source.line, source.state(), source.now);
    let broken = broken.iter().map(|b| format!("{} {}", source.clock(b.at), to_the_second(&b.text)));
    Page {
        title: format!("Handover: {}", board.line_name),
        lead: vec![
            source.as_of(),
            format!(
                "{} on the line, {} waiting, {} finished, {} taken off",
                board.counts.on_line, board.counts.queued, board.counts.finished, board.counts.off_line
            ),
        ],
        parts: vec![
            Part::table(
                "On the line, the soonest deadline first",
                &["carrier", "at", "step", "out by", "slack", "harm", "order", "finished"],
                loads.collect(),
            ),
            changes(source),
            tanks(source),
            Part::lines("Baths that want looking at", baths(source)),
            Part::lines(
                "Loads to look at: in a tank that was out, or in a bath out of its limits",
                doubtful(source),
            ),
            Part::lines("At a bench", board.benches.iter().map(crate::view::BenchRow::words).collect()),
            Part::lines(
                "Alarms that stand",
                standing.map(|a| format!("{}: {}", a.state_word, a.text)).collect(),
            ),
            Part::lines("Broken windows", broken.collect()),
            Part::lines(
                "Alarms set aside",
                shelved.map(|a| format!("{}: {}", a.state_word, a.text)).collect(),
            ),
            Part::table(
                "Next from the queue",
                &["carrier", "order", "starts", "finished", "due", ""],
                queue.collect(),
            ),
            counts_part(source),
            Part::lines("Inspected and not as it should be", not_good(source)),
            Part::lines("Notes", notes),
            signatures(source),
        ],
        foot: CAUTION.to_owned(),
    }
}

/// Baths out of their limits, and limits whose next reading is overdue.
fn baths(source: &Source<'_>) -> Vec<String> {
    let rows = source.board.baths.iter();
    let wrong = rows.flat_map(|b| b.checks.iter().filter(|c| c.fault.is_some()).map(move |c| (b, c)));
    wrong.map(|(bath, check)| format!("{}: {}", bath.name, check.words())).collect()
}

/// Loads whose dwell may be worth nothing, whatever became of them.
fn doubtful(source: &Source<'_>) -> Vec<String> {
    let state = source.state();
    let spot = |tank: TankId| {
        let tank = &source.line.tanks[tank];
        format!("{} {}", tank.name, tank.label)
    };
    let outages = outages(source);
    let caught = outages.iter().filter(|outage| !caught(source, outage).is_empty());
    let mut told: Vec<String> = caught
        .map(|o| {
            format!("{} {} from {}: {}", spot(o.tank), o.kind.words(), source.clock(o.from), over(source, o))
        })
        .collect();
    for (id, carrier) in state.book.carriers.iter() {
        let stays = state.all_stays(id).filter(|(_, stay)| in_force(source, stay).1);
        told.extend(stays.map(|(_, stay)| {
            let at = (source.clock(stay.from), source.clock(stay.to));
            format!("{} in {} from {} to {}: bath out of limits", carrier.name, spot(stay.tank), at.0, at.1)
        }));
    }
    told
}

/// Carriers that somebody looked at whose shade or seal is not what was ordered, or that are marked.
fn not_good(source: &Source<'_>) -> Vec<String> {
    let state = source.state();
    let seen = state.book.carriers.iter().filter_map(|(id, c)| Some((c, state.ledger.inspected(id)?)));
    let bad = seen.filter(|(_, i)| i.shade != Shade::Like || i.sealed == Some(false) || !i.marks.is_empty());
    bad.map(|(c, i)| format!("{}: {}", c.name, inspection(i))).collect()
}

/// Tanks that may not be used now, and until when.
fn tanks(source: &Source<'_>) -> Part {
    let rows = source.board.tanks.iter().filter(|t| t.readiness != Readiness::Ready);
    let rows = rows
        .map(|t| vec![t.name.clone(), t.label.clone(), t.readiness.word().to_owned(), t.readiness.until()]);
    Part::table("Tanks not ready, or not for long", &["tank", "what", "state", "until"], rows.collect())
}

/// Changes that were said and not taken back, with who and why.
pub(super) fn changes(source: &Source<'_>) -> Part {
    let is_change =
        |e: &Event| matches!(e, Event::Changed { .. } | Event::TankOut { .. } | Event::TankBack { .. });
    Part::lines("Changes and why", source.said(is_change))
}

fn signatures(source: &Source<'_>) -> Part {
    let mut signed = Vec::new();
    let mut open = vec![Sign::HandsOver, Sign::TakesOver];
    for (stamped, at) in counting(source.history.events()) {
        if let Event::Entered { entry: Entry::Signed { sign, initials } } = &stamped.event {
            let what = match sign {
                Sign::On => "works this shift",
                Sign::HandsOver => "handed over",
                Sign::TakesOver => "took over",
            };
            open.retain(|s| s != sign);
            signed.push(format!("{} {initials} {what}", source.clock(at)));
        }
    }
    for sign in open {
        let what = if sign == Sign::HandsOver { "handed over by" } else { "taken over by" };
        signed.push(format!("{what}: ________"));
    }
    Part::lines("Hands", signed)
}
