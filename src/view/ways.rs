//! Ways out of trouble, ranked, as they are offered to a supervisor.

use crate::line::{Harm, Line};
use crate::shift::{Command, State};
use crate::units::Dur;
use crate::whatif::{WayOut, What};

/// One way out.
#[derive(Debug, Clone, PartialEq)]
pub struct WayRow {
    /// What is done.
    pub words: String,
    /// The worst harm that is left; `None` if every window is kept.
    pub harm: Option<Harm>,
    /// What it costs, in words.
    pub price: String,
    /// What is said, in this order.
    pub commands: Vec<Command>,
}

impl WayRow {
    /// The whole row as one line.
    pub fn line(&self) -> String {
        let harm = self.harm.map_or_else(
            || "keeps every window".to_owned(),
            |h| format!("leaves {} {}", h.letter(), h.word()),
        );
        format!("{}: {harm}; {}", self.words, self.price)
    }
}

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
            if worth.left > base.left {
                price.push(format!("{} given up", worth.left - base.left));
            }
        }
        let otherwise = if way.what == What::Nothing { "as it is" } else { "costs nothing else" };
        WayRow {
            words: way.what.words(line, &state.book),
            harm: way.prospect.breaches.iter().filter_map(|b| b.harm).min(),
            price: if price.is_empty() { otherwise.to_owned() } else { price.join(", ") },
            commands: way.commands.clone(),
        }
    };
    ways.iter().map(row).collect()
}
