//! The page a practice ends with.

use super::shift::by_harm;
use super::{CAUTION, OUTCOME, Page, Part, Source, outcome_cells, troubles};
use crate::ids::TankId;
use crate::line::Harm;
use crate::shift::ledger::Counts;
use crate::train::{Came, Debrief, Deed, Does, Ignored, Rival, Spread, Who};
use crate::units::{Dur, Time};
use crate::view::to_the_second;

/// What came out, what broke, which calls were followed and how soon, and what others would have made of it.
pub fn debrief(source: &Source<'_>, debrief: &Debrief) -> Page {
    let from = debrief.brief.as_ref().and_then(|b| b.taken_over).map_or(Time::ZERO, |t| t.at);
    let mut parts = vec![by_harm(&debrief.outcome.breaches), broken(source, debrief)];
    parts.extend(before(source, debrief));
    parts.extend(troubles::troubles(source, debrief));
    parts.extend(troubles::late(source, debrief));
    parts.extend([in_air(debrief), calls(debrief), not_followed(source, debrief)]);
    parts.extend(ignored(source, debrief));
    parts.extend(missed(source));
    if !debrief.rivals.is_empty() {
        parts.push(beside(source, debrief));
        let mut reckoned: Vec<String> = RECKONED.map(str::to_owned).into();
        if from > Time::ZERO {
            reckoned.push(FROM_THE_OPENING.to_owned());
        }
        parts.push(Part::lines("How the others were reckoned", reckoned));
    }
    let mut lead = Vec::new();
    if let Some(brief) = &debrief.brief {
        lead.push(format!("practice on {}", source.board.line_name));
        lead.extend(brief.taken_over.map(|t| {
            format!("from {} on; what was done and broken before is not counted", source.clock(t.at))
        }));
    }
    lead.push(source.span(from));
    lead.push(in_short(debrief));
    let name = debrief.brief.as_ref().map_or(&source.board.line_name, |b| &b.title);
    Page { title: format!("Debrief: {name}"), lead, parts, foot: CAUTION.to_owned() }
}

const RECKONED: [&str; 5] = [
    "All are counted where this shift ends: what the others would have brought out a few minutes later is not in it.",
    "The plan: made from the opening by a counted number of tries, with every order to come known, without any trouble and \
     without human pace; what could have been had.",
    "The calls: a simulated crew that follows them through the same troubles, one seed.",
    "The rules: a careful person who decides without a plan, the same crew, troubles and seed, with the number of carriers \
     on the line from 3 to 6 that suits the rule best.",
    "Troubles are what was said: orders, tanks out, cranes stopped. What nobody entered nobody else met with either, and a \
     bar that was put down wrong is this shift's alone.",
];

/// Said where the practice is only a part of its shift.
const FROM_THE_OPENING: &str =
    "All are reckoned from the opening; this shift's broken windows are only those since it was taken over.";

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

fn broken(source: &Source<'_>, debrief: &Debrief) -> Part {
    let line = |b: &crate::verify::Breach| {
        let stood: Vec<String> = debrief.stood(b).map(|h| source.crane(h)).collect();
        let verb = if stood.len() > 1 { "were" } else { "was" };
        let meanwhile = (!stood.is_empty())
            .then(|| format!("; some of that while {} {verb} stopped", stood.join(" and ")));
        let left = (meanwhile.is_none() && debrief.was_left(b))
            .then(|| "; some of that while a pick was due and nobody did it".to_owned());
        format!("{}{}", to_the_second(&b.text), meanwhile.or(left).unwrap_or_default())
    };
    Part::lines("Broken windows", debrief.outcome.breaches.iter().map(line).collect())
}

/// What others had broken before it was taken over.
fn before(source: &Source<'_>, debrief: &Debrief) -> Option<Part> {
    let line = |b: &crate::verify::Breach| format!("{} {}", source.clock(b.at), to_the_second(&b.text));
    let lines: Vec<String> = debrief.before.iter().map(line).collect();
    (!lines.is_empty()).then(|| Part::lines("Broken before it was taken over", lines))
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
    d.map_or_else(|| "-".to_owned(), |d| d.to_string())
}

/// So many of so many in whole per cent; all of them only if none is wanting, and none only if there is none.
fn share(part: usize, whole: usize) -> String {
    let percent = (part as f64 / whole.max(1) as f64 * 100.0).round() as usize;
    let percent = if part < whole { percent.min(99) } else { percent };
    format!("{part} ({} %)", if part > 0 { percent.max(1) } else { percent })
}

fn calls(debrief: &Debrief) -> Part {
    let f = debrief.followed();
    let reactions = debrief.reactions();
    let of = |pick: fn(Spread) -> Dur| figure(reactions.map(pick));
    Part::facts(
        "Calls",
        vec![
            ("picks and places with a call", f.called.to_string()),
            ("done as called", share(f.followed, f.called)),
            ("called, and never done", debrief.ignored.len().to_string()),
            ("done without a call", f.uncalled.to_string()),
            ("stood with a call due", debrief.stood_unsaid().to_string()),
            ("reaction, mean", of(|s| s.mean)),
            ("reaction, nine in ten below", of(|s| s.p90)),
            (
                "measured",
                format!(
                    "from the instant the plan lifts to the confirmed pick, over {} picks that were done as called; a pick \
                     before that instant counts as 0:00, a call that is still due counts up to the end. Stood: a pick was due \
                     for more than two minutes each time, done in the end or not, and nobody said that the crane stands",
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

/// Calls that nobody answers, if there are any.
fn ignored(source: &Source<'_>, debrief: &Debrief) -> Option<Part> {
    let row = |i: &Ignored| {
        let name = &source.state().book.carriers[i.called.carrier].name;
        let call = format!("pick {name} from {}", tank(source, i.called.from));
        vec![source.clock(i.due), call, (i.until - i.due).to_string()]
    };
    let rows: Vec<_> = debrief.ignored.iter().map(row).collect();
    let head = ["due at", "called", "due for"];
    (!rows.is_empty()).then(|| Part::table("Calls that nobody answered", &head, rows))
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

fn beside(source: &Source<'_>, debrief: &Debrief) -> Part {
    let row = |Rival { who, came }: Rival| {
        let Came { finished, clean, air, late, .. } = came;
        let mut row = vec![name(who)];
        row.extend(outcome_cells(finished, clean, Harm::ALL.map(|h| came.count(h))));
        row.extend([figure(Some(air)), late.to_string()]);
        row
    };
    Part::table(
        &format!("Beside others, all counted at {}", source.clock(debrief.until)),
        &[&["who decided"][..], &OUTCOME, &["air over", "late"]].concat(),
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
