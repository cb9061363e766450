//! Ways out of trouble, ranked, as they are offered to a supervisor.

use crate::line::{Harm, Line};
use crate::shift::{Command, State};
use crate::units::{Dur, Time};
use crate::verify::Rule;
use crate::whatif::{Prospect, Trouble, WayOut, What};

use super::words::clean;

/// One way out.
#[derive(Debug, Clone, PartialEq)]
pub struct WayRow {
    /// What is done.
    pub words: String,
    /// The worst harm that is left; `None` if every window is kept.
    pub harm: Option<Harm>,
    /// By how much in all, in windows of that harm; without limit if a load is left where it is.
    pub by: Dur,
    /// What it costs, in words.
    pub price: String,
    /// What is said, in this order.
    pub commands: Vec<Command>,
}

impl WayRow {
    /// The whole row as one line.
    pub fn line(&self) -> String {
        let harm = match self.harm {
            None => "keeps every window".to_owned(),
            Some(h) if self.by.is_unlimited() => format!("leaves {} {} without end", h.letter(), h.word()),
            Some(h) => format!("leaves {} {} {}", h.letter(), h.word(), self.by),
        };
        format!("{}: {harm}; {}", self.words, self.price)
    }
}

/// How long loads of a plan are out of windows of one harm in all, by the verifier's word; without limit if one is left there.
fn excess(plan: &Prospect, harm: Harm) -> Dur {
    let of_it = || plan.breaches.iter().filter(|b| b.harm == Some(harm));
    if of_it().any(|b| b.open_ended) { Dur::UNLIMITED } else { of_it().map(|b| b.by).sum() }
}

/// The worst harm that giving loads up counts as, and by how much: what is in the worth of a way out and not in its plan.
fn given(way: &WayOut) -> Option<(Harm, Dur)> {
    let more = |harm: Harm| way.prospect.worth.excess[harm as usize] - excess(&way.prospect, harm);
    Harm::ALL.into_iter().map(|harm| (harm, more(harm))).find(|(_, by)| *by > ROUNDED)
}

/// What calls for a decision, in a few words.
pub fn trouble_words(line: &Line, state: &State, trouble: &Trouble, now: Time) -> String {
    match trouble {
        Trouble::StoppedHoist { hoist, .. } => format!("{} is stopped", clean(&line.hoists[*hoist].name)),
        Trouble::TankLost { tank, .. } => {
            format!("{} is out of use and loads have its step ahead", clean(&line.tanks[*tank].name))
        }
        Trouble::Window { carrier, breach } => {
            let name = clean(&state.book.carriers[*carrier].name);
            let what = match breach.rule {
                Rule::Under => "too short",
                Rule::Air => "too long in air after",
                _ => "too long",
            };
            // What an end of a window is not behind of is still to come.
            let will = if breach.at < now { "is" } else { "will be" };
            let place = clean(&breach.place);
            let place = if breach.rule == Rule::Air { place } else { format!("in {place}") };
            format!("{name} {will} {what} {place}")
        }
        Trouble::Promise { order, .. } => {
            format!("rush order {} will be late", clean(&state.book.orders[*order].name))
        }
    }
}

/// Planner and verifier round apart.
const ROUNDED: Dur = Dur::from_secs(1);

/// Less than this is no price.
const SAME: Dur = Dur::from_secs(30);

/// The ways out as rows, in their order; what each costs is held against changing nothing.
pub fn way_rows(line: &Line, state: &State, ways: &[WayOut]) -> Vec<WayRow> {
    let line = state.line(line);
    let nothing = ways.iter().find(|w| w.what == What::Nothing).map(|w| w.prospect.worth);
    let row = |way: &WayOut| {
        let worth = way.prospect.worth;
        let mut price = Vec::new();
        if let Some(base) = nothing.filter(|_| way.what != What::Nothing) {
            let mut differs = |by: Dur, more: &str, less: &str| {
                if by > SAME {
                    price.push(format!("{by} {more}"));
                } else if by < -SAME {
                    price.push(format!("{} {less}", -by));
                }
            };
            differs(worth.late - base.late, "later in all", "less late in all");
            differs(worth.finish - base.finish, "longer", "sooner done");
            let given_up: Vec<String> =
                way.what.given_up().into_iter().map(|c| clean(&state.book.carriers[c].name)).collect();
            if !given_up.is_empty() {
                let as_much =
                    given(way).map(|(h, by)| format!(", counted as {} {} {by}", h.letter(), h.word()));
                price.push(format!("gives up {}{}", given_up.join(", "), as_much.unwrap_or_default()));
            } else if worth.left > base.left {
                price.push(format!("{} more not finished", worth.left - base.left));
            }
        }
        let otherwise = if way.what == What::Nothing { "as it is" } else { "costs nothing else" };
        let harm = way.prospect.breaches.iter().filter_map(|b| b.harm).min();
        WayRow {
            words: way.what.words(line, &state.book),
            harm,
            by: harm.map_or(Dur::ZERO, |harm| excess(&way.prospect, harm)),
            price: if price.is_empty() { otherwise.to_owned() } else { price.join(", ") },
            commands: way.commands.clone(),
        }
    };
    ways.iter().map(row).collect()
}
