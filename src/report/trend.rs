//! Many shifts side by side: what came out, what broke, how often alarms came, how hard the crane worked.

use std::fmt::Write as _;

use super::chart::escaped;
use super::{CAUTION, OUTCOME, Page, Part, Source, outcome_cells, rates};
use crate::line::Harm;
use crate::shift::{Event, Place, counting};
use crate::units::{Time, many};
use crate::verify::happened_by;
use crate::view::{Going, clean};

/// What one shift came to, in figures that can be held against another shift's.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// What its journal is called.
    pub journal: String,
    /// When it opened, RFC 3339 without its fraction.
    pub opened: String,
    /// How long it lasted so far, in hours.
    pub hours: f64,
    /// Carriers finished.
    pub finished: usize,
    /// Of those, with no window broken.
    pub well: usize,
    /// Windows broken: scrap, rework, shade, nuisance.
    pub broken: [usize; 4],
    /// Orders finished in time, and orders that were promised.
    pub in_time: (usize, usize),
    /// Alarms in ten minutes, on average.
    pub alarms: f64,
    /// Share of the time the hoists carried a load, on average over hoists.
    pub loaded: f64,
    /// Parts counted out good, to be run again, lost; and missing.
    pub parts: [i64; 4],
    /// Late entries among confirmed moves.
    pub late: usize,
}

/// The figures of a shift, whose journal is called so.
pub fn figures(source: &Source<'_>, journal: &str) -> Figures {
    let state = source.state();
    let breaches = happened_by(source.line, state, source.now);
    let broke = |name: &str| breaches.iter().any(|b| b.carrier == name);
    let strips = |id| source.changed_line().recipes[state.book.carriers[id].recipe].strips_racks;
    let done =
        state.carriers.iter().filter(|(id, c)| matches!(c.place, Place::Finished { .. }) && !strips(*id));
    let done: Vec<&str> = done.map(|(id, _)| state.book.carriers[id].name.as_str()).collect();
    let harm = |h: Harm| breaches.iter().filter(|b| b.harm == Some(h)).count();
    let lasted = (source.now - Time::ZERO).as_secs_f64().max(1.0);
    let mut parts = [0; 4];
    for order in state.book.orders.ids() {
        let c = state.ledger.counts(state, order);
        for (sum, n) in parts.iter_mut().zip([c.good, c.rework, c.scrap, c.missing.max(0)]) {
            *sum += n;
        }
    }
    let opened = source.opening.rfc3339(Time::ZERO);
    Figures {
        journal: clean(journal),
        opened: opened.get(..16).unwrap_or(&opened).replace('T', " "),
        hours: lasted / 3600.0,
        finished: done.len(),
        well: done.iter().filter(|name| !broke(name)).count(),
        broken: Harm::ALL.map(harm),
        in_time: in_time(source),
        alarms: rates(source.history.events(), source.now).per_ten_minutes,
        loaded: loaded(source, lasted),
        parts,
        late: late(source),
    }
}

/// Orders whose carriers are all finished by the time they are promised for, and orders that are promised.
fn in_time(source: &Source<'_>) -> (usize, usize) {
    let state = source.state();
    let promised = || state.book.orders.iter().filter(|(_, o)| o.due.is_some());
    let kept = promised().filter(|(id, o)| {
        let mut own = state.book.carriers.iter().filter(|(_, c)| c.order == *id);
        own.all(|(c, _)| matches!(state.carriers[c].place, Place::Finished { at, .. } if Some(at) <= o.due))
    });
    (kept.count(), promised().count())
}

fn loaded(source: &Source<'_>, lasted: f64) -> f64 {
    let ways = source.board.times.ways.iter().filter(|w| w.from.0 < source.now);
    let with_load = ways.filter(|w| matches!(w.going, Going::Loaded(_)));
    let seconds: f64 = with_load.map(|w| (w.to.0.min(source.now) - w.from.0).as_secs_f64()).sum();
    // A sum of nothing is -0.0.
    (seconds + 0.0) / lasted / source.line.hoists.len().max(1) as f64
}

/// Moves confirmed more than a minute late.
fn late(source: &Source<'_>) -> usize {
    let moves = counting(source.history.events());
    let is_move = |e: &Event| matches!(e, Event::Lifted { .. } | Event::Lowered { .. });
    moves.into_iter().filter(|(s, at)| is_move(&s.event) && (s.entered - *at).0 > 60_000).count()
}

/// Columns before and behind what all tables of outcomes have.
const BEFORE: [&str; 3] = ["opened", "journal", "hours"];
const BEHIND: [&str; 8] = [
    "in time",
    "alarms in 10 min",
    "crane loaded",
    "parts good",
    "to run again",
    "lost",
    "missing",
    "entered late",
];

/// One row a shift, the oldest first, and the mean of all.
pub fn trend(shifts: &[Figures]) -> Page {
    let row = |f: &Figures| {
        let mut row = vec![f.opened.clone(), f.journal.clone(), format!("{:.1}", f.hours)];
        row.extend(outcome_cells(f.finished, f.well, f.broken));
        row.push(format!("{} of {}", f.in_time.0, f.in_time.1));
        row.push(format!("{:.2}", f.alarms));
        row.push(format!("{:.0} %", f.loaded * 100.0));
        row.extend(f.parts.map(|n| n.to_string()));
        row.push(f.late.to_string());
        row
    };
    let half = shifts.len() / 2;
    let lines = SERIES.iter().filter_map(|s| {
        let values: Vec<f64> = shifts.iter().map(|f| (s.value)(f)).collect();
        let (first, last) = (&values[..half], &values[values.len() - half..]);
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len().max(1) as f64;
        (half > 0)
            .then(|| format!("{}: {:.2} in the first, {:.2} in the second", s.title, mean(first), mean(last)))
    });
    let left_out = (half > 0 && shifts.len() % 2 == 1)
        .then(|| format!("of {} shifts the one in the middle is in neither half", shifts.len()));
    Page {
        title: "Trend over shifts".to_owned(),
        lead: vec![format!("{}, the oldest first", many(shifts.len(), "shift"))],
        parts: vec![
            Part::table(
                "Shifts",
                &[&BEFORE[..], &OUTCOME, &BEHIND].concat(),
                shifts.iter().map(row).collect(),
            ),
            Part::lines("First half against second, means", lines.chain(left_out).collect()),
        ],
        foot: CAUTION.to_owned(),
    }
}

struct Series {
    title: &'static str,
    value: fn(&Figures) -> f64,
}

/// What is drawn, each on its own scale.
const SERIES: [Series; 5] = [
    Series { title: "carriers finished", value: |f| f.finished as f64 },
    Series { title: "windows broken", value: |f| f.broken.iter().sum::<usize>() as f64 },
    Series { title: "alarms in ten minutes", value: |f| f.alarms },
    Series { title: "crane with a load, %", value: |f| f.loaded * 100.0 },
    Series { title: "parts reworked, lost or missing", value: |f| f.parts[1..].iter().sum::<i64>() as f64 },
];

/// Up to so many shifts have room for the hour they opened: there may be several a day.
const NAMED: usize = 12;
const WIDE: f64 = 900.0;
const HIGH: f64 = 110.0;
const LEFT: f64 = 60.0;

/// The same as SVG 1.1: five small charts above each other, one bar a shift with its figure.
pub fn trend_svg(shifts: &[Figures]) -> String {
    let height = 50.0 + HIGH * SERIES.len() as f64 + 40.0;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDE:.0} {height:.0}\" width=\"{WIDE:.0}\" \
         height=\"{height:.0}\" font-family=\"sans-serif\" font-size=\"12\">\n<title>Trend over shifts</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n\
         <text x=\"12\" y=\"28\" font-size=\"20\">Trend over {}</text>\n",
        many(shifts.len(), "shift")
    );
    for (k, series) in SERIES.iter().enumerate() {
        bars(&mut svg, series, 50.0 + HIGH * k as f64, shifts);
    }
    let step = (WIDE - LEFT - 20.0) / shifts.len().max(1) as f64;
    for (k, f) in shifts.iter().enumerate() {
        let x = LEFT + step * (k as f64 + 0.5);
        let _ = writeln!(
            svg,
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"10\">{}</text>",
            height - 20.0,
            escaped(f.opened.get(if shifts.len() <= NAMED { 5..16 } else { 5..10 }).unwrap_or(""))
        );
    }
    svg.push_str("</svg>\n");
    svg
}

fn bars(svg: &mut String, series: &Series, top: f64, shifts: &[Figures]) {
    let values: Vec<f64> = shifts.iter().map(|f| (series.value)(f)).collect();
    let most = values.iter().copied().fold(1e-9, f64::max);
    let base = top + HIGH - 22.0;
    let step = (WIDE - LEFT - 20.0) / shifts.len().max(1) as f64;
    let _ = writeln!(
        svg,
        "<text x=\"12\" y=\"{:.1}\" font-weight=\"bold\">{}</text><line x1=\"{LEFT}\" y1=\"{base:.1}\" \
         x2=\"{:.1}\" y2=\"{base:.1}\" stroke=\"#777777\"/>",
        top + 14.0,
        escaped(series.title),
        WIDE - 20.0
    );
    for (k, value) in values.iter().enumerate() {
        let tall = (HIGH - 58.0) * value / most;
        let x = LEFT + step * (k as f64 + 0.2);
        let figure = match value {
            v if v.fract() == 0.0 => format!("{v:.0}"),
            v if v.abs() < 1.0 => format!("{v:.2}"),
            v => format!("{v:.1}"),
        };
        let _ = writeln!(
            svg,
            "<rect x=\"{x:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{tall:.1}\" fill=\"#4a6a85\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"10\">{figure}</text>",
            base - tall,
            step * 0.6,
            x + step * 0.3,
            base - tall - 3.0
        );
    }
}
