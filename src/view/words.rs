//! Names and phrases used by every part of the board.

use std::fmt::Write as _;

use crate::ids::{Id as _, RecipeId, StepNo, TankId};
use crate::line::{Line, Visit};
use crate::shift::Place;
use crate::units::Dur;

/// A tank as it is told to a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// Which tank.
    pub tank: TankId,
    /// Its short name.
    pub name: String,
    /// What it holds.
    pub label: String,
}

impl Spot {
    /// The tank's names.
    pub fn of(line: &Line, tank: TankId) -> Self {
        let t = &line.tanks[tank];
        Self { tank, name: clean(&t.name), label: clean(&t.label) }
    }

    /// Name and label: `T06 etch`.
    pub fn words(&self) -> String {
        if self.label.is_empty() { self.name.clone() } else { format!("{} {}", self.name, self.label) }
    }
}

/// What the verifier says behind how much a dwell lacks.
const LACKS: &str = " under the shortest";

/// The most characters of a name or a reason.
const LONGEST: usize = 200;

/// Text from a file without anything that could move the cursor: control characters become spaces, length is bounded.
pub fn clean(text: &str) -> String {
    if text.bytes().all(|b| b.is_ascii_graphic() || b == b' ') {
        return text[..text.len().min(LONGEST)].trim().to_owned();
    }
    text.chars()
        .take(LONGEST)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect::<String>()
        .trim()
        .to_owned()
}

/// By how much something is over: whole seconds that have passed, and what is less than one as `0.3 s`, as
/// [`to_the_second`] has it.
pub fn over_words(by: Dur) -> String {
    if by.0 < 1000 { format!("0.{} s", (by.0 / 100).max(1)) } else { by.to_string() }
}

/// A sentence of the verifier as people at a crane read it: `4:12.345` becomes `4:12`, and what is less than a second
/// `0.3 s`.
/// What is lacking goes up to the next second, so that it and what there is come to the whole.
pub fn to_the_second(text: &str) -> String {
    let (mut out, mut rest) = (String::new(), text);
    while let Some(dot) = rest.find('.') {
        let (before, after) = rest.split_at(dot);
        let is_clock = before.len() >= 4
            && before.is_char_boundary(before.len() - 3)
            && before[before.len() - 3..].starts_with(':')
            && before.bytes().rev().take(2).all(|b| b.is_ascii_digit());
        let digits = after[1..].bytes().take_while(u8::is_ascii_digit).count();
        let cut = is_clock && digits == 3;
        let (part, then) = after.split_at(if cut { 4 } else { 1 });
        let start = before.trim_end_matches(|c: char| c.is_ascii_digit() || c == ':').len();
        let (words, clock) = before.split_at(start);
        let lacks = cut && part != ".000" && then.starts_with(LACKS);
        if cut && clock == "0:00" && part != ".000" && !lacks {
            let tenths = part[1..2].parse().unwrap_or(0).max(1);
            let _ = write!(out, "{words}0.{tenths} s");
            rest = then;
            continue;
        }
        match Dur::parse(clock).filter(|_| lacks) {
            Some(d) => {
                out.push_str(words);
                out.push_str(&(d + Dur::from_secs(1)).to_string());
            }
            None => out.push_str(before),
        }
        if !cut {
            out.push('.');
        }
        rest = then;
    }
    out + rest
}

/// What a visit is, in words.
pub fn visit_words(line: &Line, recipe: RecipeId, visit: Visit) -> String {
    match visit {
        Visit::Load => "load".to_owned(),
        Visit::Unload => "unload".to_owned(),
        Visit::Step(n) => step_label(line, recipe, n),
        Visit::Hold(n) => format!("standby after {}", step_label(line, recipe, n)),
        Visit::Stray { resume } if resume.ix() < line.recipes[recipe].steps.len() => {
            format!("not as its sheet says; goes on with {}", step_label(line, recipe, resume))
        }
        Visit::Stray { .. } => "not as its sheet says; goes on with unload".to_owned(),
    }
}

/// Where a visit was, for a sentence about the past; what comes after it no longer matters then.
pub(super) fn past_words(line: &Line, recipe: RecipeId, visit: Visit) -> String {
    match visit {
        Visit::Stray { .. } => "a tank other than its sheet says".to_owned(),
        visit => visit_words(line, recipe, visit),
    }
}

/// Step and number of steps: the place in the recipe a visit stands for, counted from 1; 0 before the first.
pub(super) fn step_of(line: &Line, recipe: RecipeId, visit: Visit) -> (usize, usize) {
    let all = line.recipes[recipe].steps.len();
    let k = match visit {
        Visit::Load => 0,
        Visit::Step(n) | Visit::Hold(n) => n.ix() + 1,
        Visit::Stray { resume } => resume.ix(),
        Visit::Unload => all,
    };
    (k.min(all), all)
}

fn step_label(line: &Line, recipe: RecipeId, step: StepNo) -> String {
    let Some(step) = line.recipes[recipe].steps.get(step.ix()) else { return "unload".to_owned() };
    let stage = &line.stages[step.stage];
    clean(if stage.label.is_empty() { &stage.name } else { &stage.label })
}

/// Where a carrier is, in words.
pub(super) fn whereabouts(line: &Line, place: Place) -> String {
    match place {
        Place::Queued => "in the queue".to_owned(),
        Place::InTank { tank, .. } => format!("in {}", Spot::of(line, tank).words()),
        Place::OnHook { hoist, .. } => format!("on hook {}", clean(&line.hoists[hoist].name)),
        Place::Finished { tank, .. } => format!("finished at {}", Spot::of(line, tank).name),
        Place::OffLine => "off the line".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn milliseconds_are_left_out_of_minutes_and_seconds_only() {
        let said = |text: &str| to_the_second(text);
        assert_eq!(
            said("dwell 4:12.345 is 0:12.345 over the longest 4:00 (shade)"),
            "dwell 4:12 is 0:12 over the longest 4:00 (shade)"
        );
        assert_eq!(said("B01 in T05: 0:00.040 over, 1:00:00.001"), "B01 in T05: 0.1 s over, 1:00:00");
        assert_eq!(
            said("dwell 3:00.708 is 0:00.708 over the longest 3:00"),
            "dwell 3:00 is 0.7 s over the longest 3:00"
        );
        assert_eq!(said("T1.234 4.125 kW. 2:00."), "T1.234 4.125 kW. 2:00.");
    }

    #[test]
    fn what_a_dwell_is_and_what_it_lacks_come_to_its_shortest() {
        assert_eq!(
            to_the_second("B10 in T14: dwell 10:39.412 is 8:20.588 under the shortest 19:00 (rework)"),
            "B10 in T14: dwell 10:39 is 8:21 under the shortest 19:00 (rework)"
        );
        assert_eq!(to_the_second("0:59.900 under the shortest"), "1:00 under the shortest");
    }
}
