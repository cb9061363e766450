//! The time-position picture of a shift for the wall: tanks along one side, time along the other, every load a line.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::Source;
use crate::ids::{CarrierId, Id as _, TankId};
use crate::units::{Dur, Time};
use crate::verify::happened;
use crate::view::{Going, When};

/// One shade of grey and one dash for each order in turn: told apart without colour.
const STROKES: [(&str, &str); 6] = [
    ("#1b3a57", ""),
    ("#7a3e00", "7 3"),
    ("#1c6144", "2 2"),
    ("#5a2a6d", "9 3 2 3"),
    ("#444444", "12 4"),
    ("#8a1538", "4 4"),
];

const ROW: f64 = 22.0;
const LEFT: f64 = 150.0;
const TOP: f64 = 70.0;
/// Of an hour.
const WIDE: f64 = 220.0;

/// The shift from its opening to `now` as SVG 1.1. Broken windows are marked with a cross and said below.
pub fn svg(source: &Source<'_>) -> String {
    let line = source.changed_line();
    let state = source.state();
    let x = |t: Time| LEFT + (t - Time::ZERO).as_secs_f64() / 3600.0 * WIDE;
    let rows: BTreeMap<TankId, usize> = {
        let mut tanks: Vec<TankId> = line.tanks.ids().collect();
        tanks.sort_by_key(|t| line.tanks[*t].position);
        tanks.into_iter().enumerate().map(|(row, t)| (t, row)).collect()
    };
    let y = |t: TankId| TOP + ROW * (rows[&t] as f64 + 0.5);
    let breaches = happened(source.line, state);
    let bottom = TOP + ROW * rows.len() as f64;
    let (width, height) = (x(source.now) + 60.0, bottom + 60.0 + 16.0 * breaches.len() as f64);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" \
         height=\"{height:.0}\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <title>{0}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n\
         <text x=\"12\" y=\"28\" font-size=\"20\">{0}, {1} to {2}</text>\n",
        escaped(&source.board.line_name),
        source.clock(Time::ZERO),
        source.clock(source.now)
    );
    for (tank, row) in &rows {
        let (t, y) = (&line.tanks[*tank], y(*tank));
        if row % 2 == 0 {
            let _ = writeln!(
                svg,
                "<rect x=\"0\" y=\"{:.1}\" width=\"{width:.0}\" height=\"{ROW}\" fill=\"#f3f3f1\"/>",
                y - ROW / 2.0
            );
        }
        let label: String = format!("{} {}", t.name, t.label).chars().take(24).collect();
        let _ =
            writeln!(svg, "<text x=\"8\" y=\"{:.1}\" font-size=\"11\">{}</text>", y + 4.0, escaped(&label));
    }
    let mut hour = source.board.first_hour();
    while hour <= source.now {
        let at = x(hour);
        let clock: String = source.clock(hour).chars().take(5).collect();
        let _ = writeln!(
            svg,
            "<line x1=\"{at:.1}\" y1=\"{TOP}\" x2=\"{at:.1}\" y2=\"{bottom:.1}\" stroke=\"#bbbbbb\"/>\
             <text x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{clock}</text>",
            TOP - 8.0
        );
        hour += Dur::from_mins(60);
    }
    let ways = source.board.times.ways.iter().filter(|w| w.to.0 <= source.now);
    for way in ways.filter(|w| w.going == Going::Empty) {
        let _ = writeln!(
            svg,
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#999999\" stroke-width=\"0.6\" \
             stroke-dasharray=\"1 3\"/>",
            x(way.from.0),
            y(way.from.1),
            x(way.to.0),
            y(way.to.1)
        );
    }
    for carrier in state.carriers.ids() {
        if let Some(path) = path(source, carrier, &x, &y) {
            svg.push_str(&path);
        }
    }
    for (k, breach) in breaches.iter().enumerate() {
        let place = line.tanks.iter().find(|(_, t)| t.name == breach.place).map(|(id, _)| id);
        if let Some(tank) = place {
            let (cx, cy) = (x(breach.at), y(tank));
            let _ = writeln!(
                svg,
                "<path d=\"M{:.1} {:.1}l10 10m0 -10l-10 10\" stroke=\"#b00020\" stroke-width=\"2.5\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\" fill=\"#b00020\" font-weight=\"bold\">{}</text>",
                cx - 5.0,
                cy - 5.0,
                cx + 8.0,
                cy - 6.0,
                k + 1
            );
        }
        let _ = writeln!(
            svg,
            "<text x=\"12\" y=\"{:.1}\">{}. {} {}</text>",
            bottom + 30.0 + 16.0 * k as f64,
            k + 1,
            source.clock(breach.at),
            escaped(&breach.text)
        );
    }
    let _ = writeln!(
        svg,
        "<text x=\"12\" y=\"{:.1}\" fill=\"#555555\" font-size=\"11\">level: in a tank; steep: on the crane; dotted \
         grey: the crane without a load; a cross: a window broken; one dash an order. It advises and records; it is no \
         safety system.</text>\n</svg>",
        height - 12.0
    );
    svg
}

/// The way of one carrier as it happened; `None` if it has not moved.
fn path(
    source: &Source<'_>,
    carrier: CarrierId,
    x: &dyn Fn(Time) -> f64,
    y: &dyn Fn(TankId) -> f64,
) -> Option<String> {
    let spec = &source.state().book.carriers[carrier];
    let runs: Vec<_> =
        source.board.times.runs.iter().filter(|r| r.carrier == carrier && r.when == When::Past).collect();
    let first = runs.first()?;
    let mut d = String::new();
    for (k, run) in runs.iter().enumerate() {
        let verb = if k == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{verb}{:.1} {:.1}L{:.1} {:.1}", x(run.lift), y(run.from), x(run.down), y(run.to));
    }
    // What is in a tank still stays there until now.
    if let crate::shift::Place::InTank { tank, .. } = source.state().carriers[carrier].place {
        let _ = write!(d, "L{:.1} {:.1}", x(source.now), y(tank));
    }
    let (stroke, dash) = STROKES[spec.order.ix() % STROKES.len()];
    let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") };
    Some(format!(
        "<path d=\"{d}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"1.8\"{dash}/>\
         <text x=\"{:.1}\" y=\"{:.1}\" fill=\"{stroke}\" font-weight=\"bold\" font-size=\"11\">{}</text>\n",
        x(first.down) + 2.0,
        y(first.to) - 3.0,
        escaped(&spec.name)
    ))
}

pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
