//! The time-position picture of a shift for the wall: tanks along one side, time along the other, every load a line.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::Source;
use crate::ids::{CarrierId, Id as _, OrderId, TankId};
use crate::line::CarrierSpec;
use crate::shift::Place;
use crate::units::{Dur, Time};
use crate::verify::{Breach, happened_by};
use crate::view::{Going, Run, When, to_the_second};

/// One shade and one dash for each order in turn: told apart without colour.
const STROKES: [(&str, &str); 8] = [
    ("#1b3a57", ""),
    ("#7a3e00", "7 3"),
    ("#1c6144", "2 2"),
    ("#5a2a6d", "9 3 2 3"),
    ("#444444", "12 4"),
    ("#8a1538", "4 4"),
    ("#0a5f66", "14 3 3 3"),
    ("#5c5c00", "5 2 1 2"),
];

const ROW: f64 = 22.0;
const LEFT: f64 = 205.0;
const TOP: f64 = 70.0;
/// Of an hour.
const WIDE: f64 = 220.0;
/// Of one order in the legend.
const ENTRY: f64 = 300.0;
/// A dwell that is at least as wide carries the carrier's name.
const NAMED: f64 = 44.0;
/// Of a name, at most.
const NAME: f64 = 26.0;

/// Where things are on the sheet.
struct Sheet<'a> {
    source: &'a Source<'a>,
    rows: BTreeMap<TankId, usize>,
    bottom: f64,
    width: f64,
}

/// The shift from its opening to `now` as SVG 1.1: what stood in a tank as a heavy line, what hung as a thin one. Broken
/// windows are marked with a cross and said below, under a legend of the orders.
pub fn svg(source: &Source<'_>) -> String {
    let line = source.changed_line();
    let mut tanks: Vec<TankId> = line.tanks.ids().collect();
    tanks.sort_by_key(|t| line.tanks[*t].position);
    let rows: BTreeMap<TankId, usize> = tanks.into_iter().enumerate().map(|(row, t)| (t, row)).collect();
    let bottom = TOP + ROW * rows.len() as f64;
    let width = (LEFT + 60.0 + hours(source.now) * WIDE).max(LEFT + 2.0 * ENTRY);
    let sheet = Sheet { source, rows, bottom, width };
    let breaches = happened_by(source.line, source.state(), source.now);
    let (legend, below) = sheet.legend();
    let height = below + 40.0 + 16.0 * breaches.len() as f64;
    let mut svg = sheet.head(height);
    svg += &sheet.ground();
    svg += &sheet.empty_ways();
    let carriers: Vec<CarrierId> = source.state().carriers.ids().collect();
    for carrier in &carriers {
        svg += &sheet.path(*carrier);
    }
    // Names over all lines.
    svg += &sheet.names(&carriers);
    svg += &legend;
    svg += &sheet.broken(&breaches, below);
    let _ = writeln!(
        svg,
        "<text x=\"12\" y=\"{:.1}\" fill=\"#555555\" font-size=\"11\">level and heavy: in a tank; steep: on the crane; \
         dotted grey: the crane without a load; a cross: a window broken. It advises and records; it is no safety \
         system.</text>\n</svg>",
        height - 12.0
    );
    svg
}

fn hours(t: Time) -> f64 {
    (t - Time::ZERO).as_secs_f64() / 3600.0
}

fn stroke(carrier: &CarrierSpec) -> (&'static str, String) {
    let (colour, dash) = STROKES[carrier.order.ix() % STROKES.len()];
    (colour, if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") })
}

fn x(t: Time) -> f64 {
    LEFT + hours(t) * WIDE
}

impl Sheet<'_> {
    fn y(&self, tank: TankId) -> f64 {
        TOP + ROW * (self.rows[&tank] as f64 + 0.5)
    }

    fn head(&self, height: f64) -> String {
        let width = self.width;
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" \
             height=\"{height:.0}\" font-family=\"sans-serif\" font-size=\"12\">\n\
             <title>{0}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n\
             <text x=\"12\" y=\"28\" font-size=\"20\">{0}, {1}</text>\n",
            escaped(&self.source.board.line_name),
            self.source.span(Time::ZERO)
        )
    }

    /// Tanks and hours.
    fn ground(&self) -> String {
        let (mut svg, width) = (String::new(), self.width);
        for (tank, row) in &self.rows {
            let (t, y) = (&self.source.changed_line().tanks[*tank], self.y(*tank));
            if row % 2 == 0 {
                let top = y - ROW / 2.0;
                let _ = writeln!(
                    svg,
                    "<rect x=\"0\" y=\"{top:.1}\" width=\"{width:.0}\" height=\"{ROW}\" fill=\"#f3f3f1\"/>"
                );
            }
            let label: String = format!("{} {}", t.name, t.label).chars().take(34).collect();
            let (y, label) = (y + 4.0, escaped(&label));
            let _ = writeln!(svg, "<text x=\"8\" y=\"{y:.1}\" font-size=\"11\">{label}</text>");
        }
        let (mut hour, bottom) = (self.source.board.first_hour(), self.bottom);
        while hour <= self.source.now {
            let at = x(hour);
            let clock: String = self.source.clock(hour).chars().take(5).collect();
            let _ = writeln!(
                svg,
                "<line x1=\"{at:.1}\" y1=\"{TOP}\" x2=\"{at:.1}\" y2=\"{bottom:.1}\" stroke=\"#bbbbbb\"/>\
                 <text x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{clock}</text>",
                TOP - 8.0
            );
            hour += Dur::from_mins(60);
        }
        svg
    }

    fn empty_ways(&self) -> String {
        let ways = self.source.board.times.ways.iter().filter(|w| w.to.0 <= self.source.now);
        let mut svg = String::new();
        for way in ways.filter(|w| w.going == Going::Empty) {
            let _ = writeln!(
                svg,
                "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#999999\" stroke-width=\"0.6\" \
                 stroke-dasharray=\"1 3\"/>",
                x(way.from.0),
                self.y(way.from.1),
                x(way.to.0),
                self.y(way.to.1)
            );
        }
        svg
    }

    /// The loaded moves of a carrier that were made, oldest first.
    fn runs(&self, carrier: CarrierId) -> Vec<&Run> {
        let runs = self.source.board.times.runs.iter();
        runs.filter(|r| r.carrier == carrier && r.when == When::Past).collect()
    }

    /// Where a carrier stood, from when to when.
    fn stays(&self, carrier: CarrierId) -> Vec<(TankId, Time, Time)> {
        let runs = self.runs(carrier);
        let mut stays: Vec<(TankId, Time, Time)> =
            runs.windows(2).map(|pair| (pair[0].to, pair[0].down, pair[1].lift)).collect();
        // What is in a tank still stays there until now.
        if let (Some(last), Place::InTank { tank, .. }) =
            (runs.last(), self.source.state().carriers[carrier].place)
        {
            stays.push((tank, last.down, self.source.now));
        }
        stays
    }

    /// The way of one carrier as it happened.
    fn path(&self, carrier: CarrierId) -> String {
        let (colour, dash) = stroke(&self.source.state().book.carriers[carrier]);
        let (mut hangs, mut stands) = (String::new(), String::new());
        for run in self.runs(carrier) {
            let (lift, down) = (x(run.lift), x(run.down));
            let _ = write!(hangs, "M{lift:.1} {:.1}L{down:.1} {:.1}", self.y(run.from), self.y(run.to));
        }
        for (tank, from, to) in self.stays(carrier) {
            let y = self.y(tank);
            let _ = write!(stands, "M{:.1} {y:.1}L{:.1} {y:.1}", x(from), x(to));
        }
        if hangs.is_empty() {
            return String::new();
        }
        format!(
            "<path d=\"{hangs}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.2\"/>\
             <path d=\"{stands}\" stroke=\"{colour}\" stroke-width=\"4\"{dash}/>\n"
        )
    }

    /// Where each carrier starts, and on long dwells; none over another.
    fn names(&self, carriers: &[CarrierId]) -> String {
        let (mut svg, mut taken): (String, Vec<(f64, f64)>) = (String::new(), Vec::new());
        for carrier in carriers {
            let spec = &self.source.state().book.carriers[*carrier];
            let starts = self.runs(*carrier).first().map(|r| (x(r.down) + 2.0, self.y(r.to) - 4.0));
            let stays = self.stays(*carrier).into_iter().map(|(t, a, b)| (x(a), x(b), self.y(t)));
            let long = stays.filter(|(a, b, _)| b - a >= NAMED).map(|(a, b, y)| {
                let middle = (a + b - NAME) / 2.0;
                (middle, y - 4.0)
            });
            for (x, y) in starts.into_iter().chain(long) {
                if taken.iter().any(|(tx, ty)| (tx - x).abs() < NAME && (ty - y).abs() < ROW / 2.0) {
                    continue;
                }
                taken.push((x, y));
                let (colour, name) = (stroke(spec).0, escaped(&spec.name));
                let _ = writeln!(
                    svg,
                    "<text x=\"{x:.1}\" y=\"{y:.1}\" fill=\"{colour}\" font-weight=\"bold\" font-size=\"11\" \
                     paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"3\">{name}</text>"
                );
            }
        }
        svg
    }

    /// Which order is drawn how, and where that ends.
    fn legend(&self) -> (String, f64) {
        let state = self.source.state();
        let across = (((self.width - 24.0) / ENTRY) as usize).max(1);
        let moved = |order: OrderId| {
            let mut own = state.book.carriers.iter().filter(|(_, c)| c.order == order);
            own.find(|(id, _)| !self.runs(*id).is_empty()).map(|(_, spec)| spec)
        };
        let drawn = state.book.orders.iter().filter_map(|(id, order)| Some((order, moved(id)?)));
        let (mut svg, mut y) = (String::new(), self.bottom + 10.0);
        for (k, (order, spec)) in drawn.enumerate() {
            let x = 12.0 + ENTRY * (k % across) as f64;
            if k % across == 0 {
                y += 18.0;
            }
            let ((colour, dash), end) = (stroke(spec), x + 50.0);
            let mut label = format!("{} {}", order.name, order.label);
            if let Some((cut, _)) = label.char_indices().nth(36) {
                label.replace_range(cut.., "...");
            }
            let _ = writeln!(
                svg,
                "<path d=\"M{x:.1} {y:.1}L{end:.1} {y:.1}\" stroke=\"{colour}\" stroke-width=\"4\"{dash}/>\
                 <text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
                end + 8.0,
                y + 4.0,
                escaped(&label)
            );
        }
        (svg, y + 14.0)
    }

    /// A cross for each broken window, and its sentence below.
    fn broken(&self, breaches: &[Breach], below: f64) -> String {
        let mut svg = String::new();
        for (k, breach) in breaches.iter().enumerate() {
            let number = k + 1;
            if let Some((cx, cy)) = self.spot(breach) {
                let _ = writeln!(
                    svg,
                    "<path d=\"M{:.1} {:.1}l10 10m0 -10l-10 10\" stroke=\"#b00020\" stroke-width=\"2.5\"/>\
                     <text x=\"{:.1}\" y=\"{:.1}\" fill=\"#b00020\" font-weight=\"bold\">{number}</text>",
                    cx - 5.0,
                    cy - 5.0,
                    cx + 8.0,
                    cy - 6.0
                );
            }
            let _ = writeln!(
                svg,
                "<text x=\"12\" y=\"{:.1}\">{number}. {} {}</text>",
                below + 12.0 + 16.0 * k as f64,
                self.source.clock(breach.at),
                escaped(&to_the_second(&breach.text))
            );
        }
        svg
    }

    /// Where the cross of a broken window stands: on the carrier's way if it hung at that instant, else in the row of the
    /// tank.
    fn spot(&self, breach: &Breach) -> Option<(f64, f64)> {
        let tank = self.source.changed_line().tanks.find(|t| t.name == breach.place)?;
        let carrier = self.source.state().book.carriers.find(|c| c.name == breach.carrier);
        let runs = carrier.map_or_else(Vec::new, |c| self.runs(c));
        let hung = runs.into_iter().find(|r| r.lift < breach.at && breach.at <= r.down);
        let y = hung.map_or(self.y(tank), |r| {
            let gone = (breach.at - r.lift).as_secs_f64() / (r.down - r.lift).as_secs_f64();
            self.y(r.from) + gone * (self.y(r.to) - self.y(r.from))
        });
        Some((x(breach.at), y))
    }
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
