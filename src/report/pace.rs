//! The page about pace: how long moves really took, and what the plan makes of it.

use super::{CAUTION, Page, Part, Source};
use crate::plan::MoveKind;
use crate::train::{ENOUGH, KindPace, Learned, Spread};
use crate::units::{Dur, Time};

/// Real times of moves by kind, against the model, and what follows for the plan.
pub fn pace(source: &Source<'_>, learned: &Learned) -> Page {
    let in_force = source.state().pace.as_ref();
    Page {
        title: format!("Pace: {}", source.board.line_name),
        lead: vec![source.span(Time::ZERO)],
        parts: vec![
            Part::table(
                "Moves by kind",
                &[
                    "kind",
                    "moves",
                    "median",
                    "p90",
                    "model, median",
                    "due to pick",
                    "p90",
                    "late, p90",
                    "reserve",
                ],
                learned.kinds.iter().map(|k| row(k, learned)).collect(),
            ),
            Part::table(
                "Hoists, real time over the model's",
                &["hoist", "moves", "median", "p90", "the plan reckons with"],
                hoists(source, learned),
            ),
            Part::lines("In force in this shift", force(source, in_force)),
            Part::lines("What was measured", MEASURED.map(str::to_owned).into()),
        ],
        foot: CAUTION.to_owned(),
    }
}

const MEASURED: [&str; 5] = [
    "Critical: with an air limit. Short: into a window of a minute or less. A move that is both counts for both.",
    "A move: from the confirmed pick to the confirmed place, without the sheet's drip. Hook and unhook are not confirmed and \
     are taken to stretch as the rest does.",
    "Due to pick: from the instant the plan lifts to the confirmed pick, where the call was followed; earlier counts as 0.",
    "Late: due to pick, and what the move then took beyond the model as it is stretched. Its p90, in whole seconds and at \
     least 3, is the reserve of the kind.",
    "Moves of a crane that was stopped or slowed, put back or into a wrong tank do not count. A kind or a hoist needs 22 \
     moves: then nine samples in ten hold a move beyond the true p90, and the p90 is not the slowest one seen.",
];

fn seconds(d: Option<Dur>) -> String {
    d.map_or_else(|| "-".to_owned(), |d| format!("{:.1} s", d.as_secs_f64()))
}

fn row(k: &KindPace, learned: &Learned) -> Vec<String> {
    let pace = &learned.pace;
    let (word, reserve) = match k.kind {
        MoveKind::Critical => ("critical", pace.critical),
        MoveKind::Short => ("short", pace.short),
        MoveKind::Other => ("other", pace.other),
    };
    let of = |s: Option<Spread>, pick: fn(Spread) -> Dur| seconds(s.map(pick));
    vec![
        word.to_owned(),
        k.took.map_or(0, |s| s.count).to_string(),
        of(k.took, |s| s.median),
        of(k.took, |s| s.p90),
        of(k.model, |s| s.median),
        of(k.reaction, |s| s.median),
        of(k.reaction, |s| s.p90),
        of(k.late, |s| s.p90),
        reserve.map_or_else(|| format!("too few of {ENOUGH}"), |r| seconds(Some(r))),
    ]
}

fn hoists(source: &Source<'_>, learned: &Learned) -> Vec<Vec<String>> {
    let share = |thousandths: i64| format!("{:.1} %", thousandths as f64 / 10.0);
    let row = |&(hoist, moves, median, p90): &(_, usize, i64, i64)| {
        let stretch = learned.pace.stretch.get(&hoist);
        let used = match stretch {
            Some(stretch) => share(i64::from(*stretch)),
            None if moves < ENOUGH => format!("100.0 %, too few of {ENOUGH}"),
            None => "100.0 %: such times are no pace of people".to_owned(),
        };
        vec![source.line.hoists[hoist].name.clone(), moves.to_string(), share(median), share(p90), used]
    };
    learned.hoists.iter().map(row).collect()
}

fn force(source: &Source<'_>, pace: Option<&crate::shift::Pace>) -> Vec<String> {
    let Some(pace) = pace else { return vec!["the times of the line file".to_owned()] };
    let mut lines: Vec<String> = pace
        .stretch
        .iter()
        .map(|(h, s)| {
            format!("{}: {:.1} % of the line file's times", source.line.hoists[*h].name, f64::from(*s) / 10.0)
        })
        .collect();
    for (word, reserve) in [("critical", pace.critical), ("short", pace.short), ("other", pace.other)] {
        lines.extend(reserve.map(|r| format!("reserve of {word} moves: {}", seconds(Some(r)))));
    }
    lines
}
