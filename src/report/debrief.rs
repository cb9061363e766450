//! The page a practice ends with.

use super::shift::by_harm;
use super::{CAUTION, Page, Part, Source};
use crate::ids::TankId;
use crate::line::Harm;
use crate::shift::ledger::Counts;
use crate::train::{Came, Debrief, Deed, Does, Rival, Spread, Who};
use crate::units::{Dur, Time};
use crate::view::to_the_second;

/// What came out, what broke, which calls were followed and how soon, and what others would have made of it.
pub fn debrief(source: &Source<'_>, debrief: &Debrief) -> Page {
    let mut parts = vec![
        by_harm(&debrief.outcome.breaches),
        broken(debrief),
        in_air(debrief),
        calls(debrief),
        not_followed(source, debrief),
    ];
    parts.extend(missed(source));
    if !debrief.rivals.is_empty() {
        parts.push(beside(debrief));
        parts.push(Part::lines("How the others were reckoned", RECKONED.map(str::to_owned).into()));
    }
    Page {
        title: format!("Debrief: {}", source.board.line_name),
        lead: vec![
            format!("{} to {}", source.clock(Time::ZERO), source.clock(source.now)),
            in_short(debrief),
        ],
        parts,
        foot: CAUTION.to_owned(),
    }
}

const RECKONED: [&str; 4] = [
    "The plan: made from the opening by a counted number of tries, with every order to come known, without any trouble and \
     without human pace; what could have been had.",
    "The calls: a simulated crew that follows them through the same troubles, one seed.",
    "The rules: a careful person who decides without a plan, the same crew, troubles and seed, with the number of carriers \
     on the line from 3 to 6 that suits the rule best.",
    "Troubles are what was said: orders, tanks out, cranes stopped. What nobody entered nobody else met with either, and a \
     bar that was put down wrong is this shift's alone.",
];

fn in_short(debrief: &Debrief) -> String {
    let o = &debrief.outcome;
    let broken = o.breaches.len();
    format!(
        "{} finished, {} of them with nothing broken; {} on the line, {} waiting; {broken} window{} broken",
        o.finished,
        o.clean,
        o.on_line,
        o.queued,
        if broken == 1 { "" } else { "s" }
    )
}

fn broken(debrief: &Debrief) -> Part {
    let line = |b: &crate::verify::Breach| {
        let meanwhile = if debrief.in_stop(b) { ", while the crane was stopped" } else { "" };
        format!("{}{meanwhile}", to_the_second(&b.text))
    };
    Part::lines("Broken windows", debrief.outcome.breaches.iter().map(line).collect())
}

fn in_air(debrief: &Debrief) -> Part {
    let worst = debrief.in_air().map(|b| b.by).max();
    Part::facts(
        "Loads in the air longer than allowed",
        vec![
            ("times", debrief.in_air().count().to_string()),
            ("longer in all", debrief.outcome.air_excess.to_string()),
            ("worst", figure(worst)),
        ],
    )
}

fn figure(d: Option<Dur>) -> String {
    d.map_or_else(|| "-".to_owned(), |d| format!("{:.1} s", d.as_secs_f64()))
}

fn calls(debrief: &Debrief) -> Part {
    let f = debrief.followed();
    let reactions = debrief.reactions();
    let of = |pick: fn(Spread) -> Dur| figure(reactions.map(pick));
    let share = f.followed as f64 / f.called.max(1) as f64 * 100.0;
    Part::facts(
        "Calls",
        vec![
            ("picks and places with a call", f.called.to_string()),
            ("done as called", format!("{} ({share:.0} %)", f.followed)),
            ("done without a call", f.uncalled.to_string()),
            ("reaction, mean", of(|s| s.mean)),
            ("reaction, nine in ten below", of(|s| s.p90)),
            (
                "measured",
                format!(
                    "from the instant the plan lifts to the confirmed pick, over {} picks that were done as called; a pick \
                     before that instant counts as 0",
                    reactions.map_or(0, |r| r.count)
                ),
            ),
        ],
    )
}

fn not_followed(source: &Source<'_>, debrief: &Debrief) -> Part {
    let missed = debrief.deeds.iter().filter(|d| d.called.is_some() && !d.followed);
    Part::table(
        "Calls that were not followed",
        &["at", "called", "done instead"],
        missed.map(|d| vec![source.clock(d.at), called(source, d), done(source, d)]).collect(),
    )
}

/// Orders of which parts were missing, if there were any.
fn missed(source: &Source<'_>) -> Option<Part> {
    let state = source.state();
    let row = |(id, order): (crate::ids::OrderId, &crate::line::Order)| {
        let counts = state.ledger.counts(state, id);
        let is_short = counts.missing != 0 || counts.found != 0;
        is_short.then(|| {
            let Counts { received, good, found, missing, .. } = counts;
            let mut row = vec![order.name.clone()];
            row.extend([received, good, found].map(|n| n.to_string()));
            row.push(super::missing_words(missing));
            row
        })
    };
    let rows: Vec<_> = state.book.orders.iter().filter_map(row).collect();
    let head = ["order", "received", "counted good", "found", "still missing"];
    (!rows.is_empty()).then(|| Part::table("Parts that were missing", &head, rows))
}

fn tank<'a>(source: &Source<'a>, id: TankId) -> &'a str {
    &source.line.tanks[id].name
}

fn called(source: &Source<'_>, deed: &Deed) -> String {
    let Some(mv) = &deed.called else { return "-".to_owned() };
    let name = &source.state().book.carriers[mv.carrier].name;
    match deed.does {
        Does::Pick { .. } => format!("pick {name} from {}", tank(source, mv.from)),
        Does::Place { .. } => format!("place {name} in {}", tank(source, mv.to)),
    }
}

fn done(source: &Source<'_>, deed: &Deed) -> String {
    let name = &source.state().book.carriers[deed.carrier].name;
    match deed.does {
        Does::Pick { from, .. } => format!("picked {name} from {}", tank(source, from)),
        Does::Place { to, .. } => format!("placed {name} in {}", tank(source, to)),
    }
}

fn beside(debrief: &Debrief) -> Part {
    let row = |Rival { who, came }: Rival| {
        let Came { finished, clean, air, late, .. } = came;
        let mut row = vec![name(who), finished.to_string(), clean.to_string()];
        row.extend(Harm::ALL.map(|h| came.count(h).to_string()));
        row.extend([figure(Some(air)), late.to_string()]);
        row
    };
    Part::table(
        "Beside others, by the same time",
        &[
            "who decided",
            "finished",
            "nothing broken",
            "scrap",
            "rework",
            "shade",
            "nuisance",
            "air over",
            "late",
        ],
        debrief.beside().map(row).collect(),
    )
}

fn name(who: Who) -> String {
    use crate::sim::Rule;
    match who {
        Who::Really => "this shift".to_owned(),
        Who::Plan => "the plan, no trouble".to_owned(),
        Who::Calls => "the calls, simulated crew".to_owned(),
        Who::Rule(rule, most) => {
            let rule = match rule {
                Rule::FirstDue => "first due window",
                Rule::FirstCome => "first come, first served",
                Rule::Nearest => "nearest next",
            };
            format!("{rule}, {most} on the line")
        }
    }
}
