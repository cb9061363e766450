//! What is typed for an entry, and what it comes to.

use super::Step;
use crate::ids::{CarrierId, OrderId, TankId};
use crate::line::Quantity;
use crate::shift::ledger::{Count, Entry, Inspection, Reading, Shade, Sign};
use crate::shift::{Change, Command};
use crate::tui::app::App;
use crate::tui::changes::rework_recipes;
use crate::tui::dialog::{Asks, Field};
use crate::units::many;
use crate::view::{Board, inspection};

/// What a typed line is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Asked {
    /// Good, rework and scrap of a carrier.
    Unracked(CarrierId),
    /// Parts on a carrier.
    Racked(CarrierId),
    /// Parts of an order found in a tank.
    Found(OrderId, TankId),
    /// Film, seal and marks of a carrier with this shade.
    Seen(CarrierId, Shade),
    /// A figure of a bath.
    Reading(TankId, Quantity),
    /// Parts of an order counted in.
    Received(OrderId),
    /// Parts of an order given back.
    Returned(OrderId),
    /// Initials.
    Sign(Sign),
    /// Words.
    Note,
}

impl Asked {
    /// The field that asks for it.
    pub fn field(self, _app: &App, board: &Board) -> Field {
        let mut field = self.plain_field();
        let carrier = |c| board.carrier(c).map_or("?", |f| f.name.as_str());
        let racked = |c| board.carrier(c).map_or(0, |f| f.counted.racked);
        let order = |o| board.parts.iter().find(|p| p.order == o);
        let bath = |t| board.baths.iter().find(|b| b.tank == t);
        match self {
            Self::Unracked(c) => {
                field.title = format!("{}: good, rework, scrap?", carrier(c));
                field.hint = format!(
                    "{} racked. One figure: good; three: good rework scrap. What is missing is worked out.",
                    many(racked(c), "part")
                );
                field.text = racked(c).to_string();
            }
            Self::Racked(c) => {
                field.title = format!("How many parts on {}?", carrier(c));
                field.text = racked(c).to_string();
            }
            Self::Found(o, t) => {
                let missing = order(o).map_or(0, |p| p.counts.missing);
                field.title = format!("How many found in {}?", bath(t).map_or("?", |b| b.name.as_str()));
                let said = order(o).map_or(0, |p| p.counts.found);
                field.hint = match said {
                    0 => format!("{missing} are missing"),
                    _ => format!("{missing} are missing; 0 takes back what was found there before"),
                };
                field.text = missing.to_string();
            }
            Self::Seen(c, _) => field.title = format!("{}: film, seal, marks?", carrier(c)),
            Self::Reading(t, q) => {
                field.title = format!("{}: {}?", bath(t).map_or("?", |b| b.name.as_str()), q.word());
                let check = bath(t).and_then(|b| b.checks.iter().find(|c| c.quantity == q));
                field.hint = match check {
                    Some(check) => check.words(),
                    None => format!(
                        "in {}; no limits in the line file",
                        if q.unit().is_empty() { "pH" } else { q.unit() }
                    ),
                };
            }
            Self::Received(o) => field.text = order(o).map_or(0, |p| p.counts.received).to_string(),
            Self::Returned(_) | Self::Sign(_) | Self::Note => {}
        }
        field
    }

    /// The field without what the shift knows.
    pub fn plain_field(self) -> Field {
        let (title, hint) = match self {
            Self::Seen(..) => (
                "Film, seal, marks?",
                "such as: 15.2 holds scratch at the hook. Film in um, then holds or fails, then marks; each may be left out.",
            ),
            Self::Received(_) => ("How many parts counted in?", "all of the order so far"),
            Self::Returned(_) => ("How many parts go back?", "parts that were not racked"),
            Self::Sign(_) => ("Initials?", "one to eight letters or figures"),
            Self::Note => ("Note", "for whoever comes next"),
            Self::Unracked(_) | Self::Racked(_) | Self::Found(..) | Self::Reading(..) => ("How many?", ""),
        };
        Field {
            title: title.to_owned(),
            hint: hint.to_owned(),
            text: String::new(),
            wrong: None,
            asks: Asks::Entry(self),
        }
    }

    /// What the text comes to, or what is wrong with it.
    pub fn read(self, text: &str, app: &App, board: &Board) -> Result<Step, String> {
        let text = text.trim();
        let name = |c| board.carrier(c).map_or("?", |f| f.name.as_str());
        let order = |o| board.parts.iter().find(|p| p.order == o).map_or("?", |p| p.name.as_str());
        let bath = |t| board.baths.iter().find(|b| b.tank == t).map_or("?", |b| b.name.as_str());
        Ok(match self {
            Self::Unracked(carrier) => {
                let count = count(text)?;
                let racked = board.carrier(carrier).map_or(0, |f| f.counted.racked);
                let short = match racked - count.all() {
                    0 => ", as racked".to_owned(),
                    n if n > 0 => format!(", {n} of {racked} MISSING.  e: found in a tank"),
                    // It will be refused, with the figures.
                    _ => String::new(),
                };
                let Count { good, rework, scrap } = count;
                let words = format!("{}: {good} good, {rework} rework, {scrap} scrap{short}", name(carrier));
                Step::Enter(Entry::Unracked { carrier, count }, words)
            }
            Self::Racked(carrier) => {
                let parts = whole(text)?;
                Step::Enter(
                    Entry::Racked { carrier, parts },
                    format!("{}: {} racked", name(carrier), many(parts, "part")),
                )
            }
            Self::Found(o, tank) => {
                let parts = whole(text)?;
                let went = board.carriers.iter().filter(|c| c.counted.passed.contains(&tank));
                let went: Vec<&str> = went.map(|c| c.name.as_str()).collect();
                let words = format!(
                    "{parts} of order {} found in {}; through it went {}",
                    order(o),
                    bath(tank),
                    went.join(" ")
                );
                Step::Enter(Entry::Found { order: o, tank, parts }, words)
            }
            Self::Seen(carrier, shade) => {
                let seen = seen(text, shade);
                let words = format!("{}: {}", name(carrier), inspection(&seen));
                let bad = shade != Shade::Like || seen.sealed == Some(false);
                let entry = Entry::Inspected { carrier, seen };
                match rework_of(app, board, carrier).filter(|_| bad) {
                    Some(change) => Step::Rework(entry, words, change),
                    None => Step::Enter(entry, words),
                }
            }
            Self::Reading(tank, quantity) => {
                let value: f64 =
                    text.replace(',', ".").parse().map_err(|_| "say a figure, such as 57.5".to_owned())?;
                let row = board.baths.iter().find(|b| b.tank == tank);
                let check = row.and_then(|b| b.checks.iter().find(|c| c.quantity == quantity));
                let outside = check.and_then(|c| c.limit.outside(value));
                let outside = outside.map_or_else(String::new, |words| format!("; {words}"));
                let words = format!("{}: {}{outside}", bath(tank), quantity.with_figure(value));
                Step::Enter(Entry::Bath { tank, reading: Reading { quantity, value } }, words)
            }
            Self::Received(o) => {
                let parts = whole(text)?;
                Step::Enter(
                    Entry::Received { order: o, parts },
                    format!("order {}: {} counted in", order(o), many(parts, "part")),
                )
            }
            Self::Returned(o) => {
                let parts = whole(text)?;
                Step::Enter(
                    Entry::Returned { order: o, parts },
                    format!("order {}: {} to go back", order(o), many(parts, "part")),
                )
            }
            Self::Sign(sign) => {
                let initials = text.to_owned();
                Step::Enter(Entry::Signed { sign, initials }, format!("signed: {text}"))
            }
            Self::Note if text.is_empty() => return Err("say something".to_owned()),
            Self::Note => Step::Note(text.to_owned()),
        })
    }
}

/// The first recipe that strips a carrier and starts its own again.
fn rework_of(app: &App, board: &Board, carrier: CarrierId) -> Option<Command> {
    let fact = board.carrier(carrier)?;
    let recipe = rework_recipes(app, fact).next()?;
    Some(Command::Change { change: Change::Rework { carrier, recipe }, why: String::new() })
}

fn whole(text: &str) -> Result<u32, String> {
    text.parse().map_err(|_| "say how many parts: a whole number".to_owned())
}

/// `58`, or `58 1 1`: good, rework, scrap.
fn count(text: &str) -> Result<Count, String> {
    let wrong = || "say one figure, good, or three: good rework scrap".to_owned();
    let figures: Vec<u32> = text
        .split([' ', ',', '/'])
        .filter(|p| !p.is_empty())
        .map(|p| p.parse().map_err(|_| wrong()))
        .collect::<Result<_, _>>()?;
    match figures[..] {
        [good] => Ok(Count { good, ..Count::default() }),
        [good, rework] => Ok(Count { good, rework, scrap: 0 }),
        [good, rework, scrap] => Ok(Count { good, rework, scrap }),
        _ => Err(wrong()),
    }
}

/// `15.2 holds scratch at the hook`.
fn seen(text: &str, shade: Shade) -> Inspection {
    let mut rest = text.trim();
    let mut take = |fits: &dyn Fn(&str) -> bool| -> Option<String> {
        let word = rest.split_whitespace().next()?;
        if !fits(word) {
            return None;
        }
        rest = rest[word.len()..].trim_start();
        Some(word.to_owned())
    };
    let um = take(&|w| w.replace(',', ".").parse::<f64>().is_ok());
    take(&|w| w == "um");
    let seal = take(&|w| matches!(w, "holds" | "fails" | "seals" | "leaks"));
    Inspection {
        shade,
        thickness_um: um.and_then(|w| w.replace(',', ".").parse().ok()),
        sealed: seal.map(|w| matches!(w.as_str(), "holds" | "seals")),
        marks: rest.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_one_to_three_figures() {
        assert_eq!(count("58"), Ok(Count { good: 58, rework: 0, scrap: 0 }));
        assert_eq!(count("55 2 1"), Ok(Count { good: 55, rework: 2, scrap: 1 }));
        assert_eq!(count("55/2/1"), count("55, 2, 1"));
        for wrong in ["", "a", "1 2 3 4", "-1", "1.5"] {
            assert!(count(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn film_seal_and_marks_may_each_be_left_out() {
        let all = seen("15,2 um holds scratch at the hook", Shade::Like);
        assert_eq!(
            (all.thickness_um, all.sealed, all.marks.as_str()),
            (Some(15.2), Some(true), "scratch at the hook")
        );
        let marks = seen("burn", Shade::Like);
        assert_eq!((marks.thickness_um, marks.sealed, marks.marks.as_str()), (None, None, "burn"));
        let fails = seen("fails", Shade::Darker);
        assert_eq!((fails.sealed, fails.marks.as_str()), (Some(false), ""));
    }
}
