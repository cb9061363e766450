//! Plan files: a schedule by name, with the start of each move as its only time.

use std::fmt::Write;

use super::common::{Names, at_most, join, look_up};
use super::quantity::Seconds;
use super::shape::{MoveShape, PlanFile, PlanFormat};
use super::text::{Doc, Seg, at, quote};
use crate::ids::{CarrierId, HoistId, Id as _, StepNo, TankId};
use crate::line::{EntrySide, Line, OrderBook, Visit};
use crate::schedule::{Move, Schedule};
use crate::units::Time;

/// Ten thousand carriers at most, and no recipe has more moves than this for each.
const MAX_MOVES: usize = 500_000;

/// The schedule in the shape of a plan file.
pub fn write(line: &Line, book: &OrderBook, schedule: &Schedule) -> PlanFile {
    let moves = (schedule.moves.iter())
        .map(|m| MoveShape {
            start: since_opening(m.start),
            carrier: book.carriers[m.carrier].name.clone(),
            hoist: line.hoists[m.hoist].name.clone(),
            from: line.tanks[m.from].name.clone(),
            leaves: word(m.leaves),
            to: line.tanks[m.to].name.clone(),
            visit: word(m.visit),
            attach: m.attach,
            release: m.release,
        })
        .collect();
    PlanFile {
        schema: None,
        format: PlanFormat::V1,
        line: Some(fingerprint(line, book)),
        made_at: since_opening(schedule.made_at),
        moves,
        worth: None,
        instead: None,
    }
}

fn since_opening(t: Time) -> Seconds {
    Seconds((t - Time::ZERO).or_zero())
}

/// Checks the plan's names and words and builds the schedule; `None` if there were errors. Whether the plan is
/// true is the verifier's business.
pub fn read(doc: &mut Doc<'_>, file: &PlanFile, line: &Line, book: &OrderBook) -> Option<Schedule> {
    at_most(doc, &at!["moves"], file.moves.len(), MAX_MOVES, "moves");
    if doc.has_errors() {
        return None;
    }
    let ours = fingerprint(line, book);
    if let Some(theirs) = file.line.as_deref().filter(|theirs| *theirs != ours) {
        let expected = format!(
            "{ours}; name its files with --line, --recipes and --orders, make the plan again, or leave the field out"
        );
        let found = format!("a plan for other files ({})", quote(theirs));
        doc.error("other-line", &at!["line"], &found, &expected);
        // Every name in it would be found wrong; that helps nobody.
        return None;
    }
    let carriers: Names<'_> = book.carriers.iter().map(|(id, c)| (c.name.as_str(), id.ix())).collect();
    let hoists: Names<'_> = line.hoists.iter().map(|(id, h)| (h.name.as_str(), id.ix())).collect();
    let tanks: Names<'_> = line.tanks.iter().map(|(id, t)| (t.name.as_str(), id.ix())).collect();
    let mut moves = Vec::with_capacity(file.moves.len());
    for (i, m) in file.moves.iter().enumerate() {
        let path = at!["moves", i];
        let carrier =
            look_up(doc, &join(&path, "carrier"), &m.carrier, &carriers, "carrier").map(CarrierId::at);
        let hoist = look_up(doc, &join(&path, "hoist"), &m.hoist, &hoists, "hoist").map(HoistId::at);
        let from = look_up(doc, &join(&path, "from"), &m.from, &tanks, "tank").map(TankId::at);
        let to = look_up(doc, &join(&path, "to"), &m.to, &tanks, "tank").map(TankId::at);
        let steps = carrier.map(|c| line.recipes[book.carriers[c].recipe].steps.len());
        let leaves = visit(doc, &join(&path, "leaves"), &m.leaves, steps);
        let visit = visit(doc, &join(&path, "visit"), &m.visit, steps);
        let (Some(carrier), Some(hoist), Some(from), Some(to)) = (carrier, hoist, from, to) else { continue };
        let (Some(leaves), Some(visit)) = (leaves, visit) else { continue };
        let start = Time::ZERO + m.start.0;
        moves.push(Move {
            carrier,
            hoist,
            from,
            to,
            leaves,
            visit,
            start,
            attach: m.attach,
            release: m.release,
        });
    }
    (!doc.has_errors()).then(|| Schedule::new(moves, Time::ZERO + file.made_at.0))
}

/// `load`, `step 3`, `hold 3`, `stray 3`, `unload`; steps counted from 1.
fn word(visit: Visit) -> String {
    match visit {
        Visit::Load => "load".to_owned(),
        Visit::Unload => "unload".to_owned(),
        Visit::Step(n) => format!("step {}", n.0 + 1),
        Visit::Hold(n) => format!("hold {}", n.0 + 1),
        Visit::Stray { resume } => format!("stray {}", resume.0 + 1),
    }
}

fn visit(doc: &mut Doc<'_>, path: &[Seg], text: &str, steps: Option<usize>) -> Option<Visit> {
    let read = match text {
        "load" => Some(Visit::Load),
        "unload" => Some(Visit::Unload),
        _ => text.split_once(' ').and_then(|(kind, number)| {
            let n: u16 = number.parse().ok()?;
            let step = StepNo(n.checked_sub(1)?);
            match kind {
                "step" => Some(Visit::Step(step)),
                "hold" => Some(Visit::Hold(step)),
                "stray" => Some(Visit::Stray { resume: step }),
                _ => None,
            }
        }),
    };
    let Some(read) = read else {
        let expected = "load, step N, hold N, stray N or unload";
        doc.error("bad-visit", path, &quote(text), expected);
        return None;
    };
    let (Visit::Step(n) | Visit::Hold(n) | Visit::Stray { resume: n }) = read else { return Some(read) };
    let steps = steps?;
    // A stray carrier may have nothing left but the unload station.
    let most = if matches!(read, Visit::Stray { .. }) { steps + 1 } else { steps };
    if n.ix() >= most {
        let found = format!("{}, in a recipe of {steps} steps", quote(text));
        doc.error("bad-visit", path, &found, "a step of the carrier's recipe");
        return None;
    }
    Some(read)
}

/// A short mark of everything in the line, its recipes and the orders that decides whether a plan is good: 16 hex
/// digits (FNV-1a, 64 bits). Labels are left out.
pub fn fingerprint(line: &Line, book: &OrderBook) -> String {
    let mut mark = Fnv(0xcbf2_9ce4_8422_2325);
    // Writing into the mark cannot fail.
    let _ = feed(&mut mark, line, book);
    format!("{:016x}", mark.0)
}

fn feed(mark: &mut Fnv, line: &Line, book: &OrderBook) -> std::fmt::Result {
    write!(mark, "{:?};{:?};", line.rail, line.power_cap)?;
    for (_, t) in line.tanks.iter() {
        write!(mark, "tank {};{};{:?};{};", t.name, t.position.0, t.role, t.capacity)?;
        write!(mark, "{};{};", t.ready_after.0, t.out_after.0)?;
    }
    for (_, s) in line.stages.iter() {
        write!(mark, "stage {};{:?};{:?};", s.name, s.kind, s.rectifier)?;
    }
    for (_, r) in line.rectifiers.iter() {
        write!(mark, "rectifier {};{:?};{:?};", r.name, r.max_amps, r.max_power)?;
    }
    for (_, h) in line.hoists.iter() {
        write!(mark, "hoist {};{};{};", h.name, h.reach_from.0, h.reach_to.0)?;
        write!(mark, "{};{};{};{};", h.home.0, h.hook.0, h.unhook.0, h.settle.0)?;
        write!(mark, "{:?};{:?};", h.lift, h.travel)?;
    }
    for (_, r) in line.recipes.iter() {
        write!(mark, "recipe {};{};", r.name, r.rework)?;
        for s in &r.steps {
            write!(mark, "step {s:?};")?;
        }
    }
    for (_, o) in book.orders.iter() {
        let entry = match o.entry {
            EntrySide::Any => None,
            EntrySide::At(tank) => Some(tank.0),
        };
        write!(mark, "order {};{};{:?};{:?};", o.name, o.recipe.0, o.priority, o.due)?;
        write!(mark, "{};{entry:?};", o.ready.0)?;
    }
    for (_, c) in book.carriers.iter() {
        write!(mark, "carrier {};{};{};", c.name, c.order.0, c.recipe.0)?;
        write!(mark, "{:?};{:?};{};", c.area_dm2, c.rack, c.ready.0)?;
    }
    Ok(())
}

struct Fnv(u64);

impl Write for Fnv {
    fn write_str(&mut self, text: &str) -> std::fmt::Result {
        for byte in text.bytes() {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        Ok(())
    }
}
