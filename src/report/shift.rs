//! The report of a whole shift.

use std::collections::BTreeMap;

use super::rates::spread as spread_of;
use super::record::dwells;
use super::{CAUTION, Page, Part, Source, bench, counts_part, rates, waiting};
use crate::ids::OrderId;
use crate::line::{Harm, Quantity, Role, StageKind, Visit};
use crate::shift::{Ended, Event, Place, bath};
use crate::units::{Dur, Time};
use crate::verify::{Breach, Rule, happened_by};
use crate::view::{Going, When, fault_head, metal_of, to_the_second};

/// What came out, what broke, what it cost, who said what.
pub fn shift(source: &Source<'_>) -> Page {
    let breaches = happened_by(source.line, source.state(), source.now);
    Page {
        title: format!("Shift report: {}", source.board.line_name),
        lead: vec![
            source.span(Time::ZERO),
            format!(
                "{} finished, {} on the line, {} waiting, {} taken off",
                source.board.counts.finished,
                source.board.counts.on_line,
                source.board.counts.queued,
                source.board.counts.off_line
            ),
        ],
        parts: vec![
            orders(source),
            by_harm(&breaches),
            Part::lines("Broken windows", breaches.iter().map(|b| to_the_second(&b.text)).collect()),
            alarms(source),
            crane(source),
            waiting::places(source),
            waiting::causes(source),
            spread(source),
            pace(source),
            counts_part(source),
            rework(source),
            super::racks::racks(source),
            baths(source),
            super::water::water(source),
            super::pages::changes(source),
            Part::lines("Notes", source.said(|e| matches!(e, Event::Noted { .. } | Event::Entered { .. }))),
        ],
        foot: CAUTION.to_owned(),
    }
}

/// Promised against actual.
fn orders(source: &Source<'_>) -> Part {
    let state = source.state();
    let rows = state.book.orders.iter().map(|(id, order)| {
        let own = || state.book.carriers.iter().filter(|(_, c)| c.order == id).map(|(c, _)| c);
        let gone = own().filter(|c| state.standing.cancelled.contains(c)).count();
        let ends: Vec<Option<Time>> = own()
            .map(|c| match state.carriers[c].place {
                Place::Finished { at, .. } => Some(at),
                _ => None,
            })
            .collect();
        let done = ends.iter().flatten().count();
        let last = ends.iter().flatten().max().copied();
        let whole = done + gone == ends.len() && done > 0;
        let late = order.due.zip(last.filter(|_| whole)).map(|(due, last)| last - due);
        vec![
            order.name.clone(),
            order.label.clone(),
            format!("{done} of {}", ends.len()),
            order.due.map_or_else(|| "-".to_owned(), |t| source.clock(t)),
            last.map_or_else(|| "-".to_owned(), |t| source.clock(t)),
            match late {
                Some(by) if by > Dur::ZERO => format!("{} late", by.in_minutes()),
                Some(_) => "in time".to_owned(),
                None if gone == ends.len() && gone > 0 => "cancelled".to_owned(),
                None if order.due.is_some_and(|due| due < source.now) => "OPEN, past due".to_owned(),
                None => "open".to_owned(),
            },
        ]
    });
    Part::table("Orders", &["order", "what", "finished", "promised", "last out", "kept"], rows.collect())
}

pub(super) fn by_harm(breaches: &[Breach]) -> Part {
    let rows = Harm::ALL.map(|harm| {
        let own = || breaches.iter().filter(move |b| b.harm == Some(harm));
        let count = |rule: Rule| own().filter(|b| b.rule == rule).count().to_string();
        let worst = own().map(|b| b.by).max();
        vec![
            harm.word().to_owned(),
            count(Rule::Over),
            count(Rule::Under),
            count(Rule::Air),
            worst.map_or_else(|| "-".to_owned(), |w| w.to_string()),
        ]
    });
    Part::table(
        "Windows broken, by harm",
        &["harm", "too long", "too short", "in air", "worst by"],
        rows.into(),
    )
}

fn alarms(source: &Source<'_>) -> Part {
    let r = rates(source.history.events(), source.now);
    let spread = spread_of(source.line, source.history.events());
    let ranked = spread.iter().sum::<usize>();
    let all = ranked.max(1);
    // What was put right since may have left a window open that was taken for closed.
    let unranked = match r.raised.saturating_sub(ranked) {
        0 => String::new(),
        n => format!("; {n} of none, by what was said since"),
    };
    let share = |n: usize| format!("{n} ({:.0} %)", n as f64 / all as f64 * 100.0);
    Part::facts(
        "Alarms",
        vec![
            ("raised", r.raised.to_string()),
            (
                "in ten minutes, on average",
                format!(
                    "{:.2}: {} (EEMUA 191, from memory: below 1 acceptable)",
                    r.per_ten_minutes,
                    r.verdict()
                ),
            ),
            (
                "in the fullest ten minutes",
                format!("{}: {} (EEMUA 191, from memory: at most 10)", r.peak, r.peak_verdict()),
            ),
            (
                "in a flood",
                format!(
                    "{:.1} % of the time (10 in ten minutes to below 5; ISA-18.2: below 1 %, end and target from memory)",
                    r.flooded * 100.0
                ),
            ),
            (
                "high, medium, low",
                format!(
                    "{}, {}, {} (ISA-18.2: about 5, 15 and 80 %){unranked}",
                    share(spread[0]),
                    share(spread[1]),
                    share(spread[2])
                ),
            ),
            ("set aside", r.shelved.to_string()),
            ("seen after, median", r.median_seen.map_or_else(|| "-".to_owned(), |d| d.to_string())),
        ],
    )
}

fn crane(source: &Source<'_>) -> Part {
    let line = source.changed_line();
    let lasted = (source.now - Time::ZERO).as_secs_f64().max(1.0);
    let rows = line.hoists.iter().map(|(id, hoist)| {
        let runs = source.board.times.runs.iter().filter(|r| r.hoist == id && r.when == When::Past);
        let moves = runs.count();
        let sum = |loaded: bool| {
            let past = source.board.times.ways.iter().filter(|w| w.hoist == id && w.from.0 < source.now);
            let wanted = past.filter(|w| match w.going {
                Going::Loaded(_) => loaded,
                Going::Empty => !loaded,
                Going::Waits => false,
            });
            // A sum of nothing is -0.0.
            wanted.map(|w| (w.to.0.min(source.now) - w.from.0).as_secs_f64()).sum::<f64>() + 0.0
        };
        let (loaded, empty) = (sum(true), sum(false));
        let percent = |s: f64| format!("{:.0} %", s / lasted * 100.0);
        vec![
            hoist.name.clone(),
            moves.to_string(),
            percent(loaded),
            percent(empty),
            percent((lasted - loaded - empty).max(0.0)),
        ]
    });
    Part::table("Crane", &["hoist", "loaded moves", "hook to unhook", "empty", "standing"], rows.collect())
}

/// Longest less shortest dwell in anodise and dye within each order: colour is the product.
fn spread(source: &Source<'_>) -> Part {
    let line = source.changed_line();
    let state = source.state();
    let mut lots: BTreeMap<(OrderId, &str), Vec<Dur>> = BTreeMap::new();
    for (id, carrier) in state.carriers.iter() {
        for (tank, visit, dwell) in dwells(&carrier.stays) {
            let (Visit::Step(_), Role::Bath(stage)) = (visit, line.tanks[tank].role) else {
                continue;
            };
            let kind = match line.stages[stage].kind {
                StageKind::Anodise => "anodise",
                StageKind::Dye => "dye",
                _ => continue,
            };
            lots.entry((state.book.carriers[id].order, kind)).or_default().push(dwell);
        }
    }
    let rows = lots.into_iter().filter(|(_, d)| d.len() > 1).map(|((order, kind), d)| {
        let (least, most) = (d.iter().min().copied(), d.iter().max().copied());
        let (least, most) = (least.unwrap_or_default(), most.unwrap_or_default());
        vec![
            state.book.orders[order].name.clone(),
            kind.to_owned(),
            d.len().to_string(),
            least.to_string(),
            most.to_string(),
            (most - least).to_string(),
        ]
    });
    Part::table(
        "Dwell within a lot",
        &["order", "bath", "carriers", "shortest", "longest", "spread"],
        rows.collect(),
    )
}

/// How long loaded moves took against the model: from clear of one tank to down in the next.
fn pace(source: &Source<'_>) -> Part {
    let state = source.state();
    let line = source.changed_line();
    let mut over: Vec<i64> = Vec::new();
    for id in state.carriers.ids() {
        let own = source.board.times.runs.iter().filter(|r| r.carrier == id && r.when == When::Past);
        for run in own {
            let left = state.all_stays(id).find(|(_, s)| s.to == run.lift);
            let drip = left.map_or(Dur::ZERO, |(recipe, s)| line.drip(recipe, s.visit));
            if let Some(model) = line.phases(run.hoist, run.from, run.to, drip, true, true) {
                over.push(((run.down - run.lift) - (model.to_down() - model.to_lift())).0);
            }
        }
    }
    over.sort_unstable();
    let at = |share: f64| over.get(((over.len() as f64 * share) as usize).min(over.len().saturating_sub(1)));
    let figure =
        |ms: Option<&i64>| ms.map_or_else(|| "-".to_owned(), |ms| format!("{:+.1} s", *ms as f64 / 1000.0));
    Part::facts(
        "Pace of loaded moves against the model",
        vec![
            ("moves", over.len().to_string()),
            ("median", figure(at(0.5))),
            ("nine in ten below", figure(at(0.9))),
        ],
    )
}

/// Carriers that were stripped and run again, or were at a bench.
fn rework(source: &Source<'_>) -> Part {
    let line = source.changed_line();
    let state = source.state();
    let mut rows = Vec::new();
    for (id, runs) in &state.standing.runs {
        for run in runs {
            let (what, when) = match &run.ended {
                Ended::Rework => ("stripped and run again".to_owned(), run.stays.last().map(|s| s.to)),
                Ended::Bench(bench, from, to) => (bench::words(bench, *to - *from), Some(*from)),
            };
            let metal =
                if run.ended == Ended::Rework { metal_of(line, run.recipe, &run.stays) } else { None };
            rows.push(vec![
                state.book.carriers[*id].name.clone(),
                what,
                when.map_or_else(|| "-".to_owned(), |t| source.clock(t)),
                metal.map_or_else(|| "-".to_owned(), |um| format!("{um:.1}")),
            ]);
        }
    }
    Part::table("Rework and work at the bench", &["carrier", "what", "from", "metal gone, um a side"], rows)
}

/// Loads and readings of every bath.
fn baths(source: &Source<'_>) -> Part {
    let line = source.changed_line();
    let state = source.state();
    let rows = line.tanks.iter().filter(|(_, t)| matches!(t.role, Role::Bath(_))).map(|(id, tank)| {
        // Of each quantity the latest: they come in the order in which they were taken.
        let last: BTreeMap<Quantity, (Time, f64)> =
            state.ledger.readings(id).into_iter().map(|(at, r)| (r.quantity, (at, r.value))).collect();
        let last: Vec<String> = last
            .into_iter()
            .map(|(q, (at, value))| format!("{} at {}", q.figure(value), source.clock(at)))
            .collect();
        let changed = state.ledger.changed(id).map_or_else(String::new, |t| source.clock(t));
        let checks = bath::checks(source.line, state, id, source.now);
        let limits: Vec<String> =
            checks.iter().map(|c| format!("{} {}", c.limit.quantity.word(), c.limit.words())).collect();
        let faults: Vec<String> = checks.iter().filter_map(|c| c.unfit.as_ref()).map(fault_head).collect();
        vec![
            tank.name.clone(),
            tank.label.clone(),
            state.ledger.loads(state, id).to_string(),
            changed,
            last.join("; "),
            limits.join("; "),
            faults.join("; "),
        ]
    });
    Part::table(
        "Baths",
        &["tank", "what", "loads", "changed", "last reading", "limits", "now"],
        rows.collect(),
    )
}
