//! Why and comparisons in words: the same lines for a page on the screen and for text.

use super::compare::{Better, Compared, Figure};
use super::why::Why;
use crate::civil::Opening;
use crate::units::{Dur, many};
use crate::verify::Breach;

/// One line of a page, and whether it is a heading.
pub type Line = (String, bool);

fn plain(text: impl Into<String>) -> Line {
    (text.into(), false)
}

impl Why {
    /// The page about it.
    pub fn lines(&self, opening: &Opening) -> Vec<Line> {
        let mut lines = vec![(format!("The call at {}", opening.clock(self.at)), true)];
        match &self.call {
            Some(call) => {
                let slack = call.slack.map_or("nothing limits it".to_owned(), slack_words);
                lines.push(plain(call.plain()));
                lines.push(plain(format!("why: {}", call.reason)));
                lines.push(plain(slack));
            }
            None => lines.push(plain("Nothing was called.")),
        }
        lines.push(plain(""));
        lines.push(("What was done".to_owned(), true));
        let Some(done) = &self.done else {
            lines.push(plain("Nothing any more: the recording ends."));
            return lines;
        };
        lines.push(plain(format!("{} {} (event {})", opening.clock(done.at), done.text, done.seq.0)));
        lines.push(plain(match (done.as_called, done.after) {
            (true, Some(after)) if after.0 >= 1000 => format!("as called, {after} after the planned instant"),
            (true, Some(after)) if after.0 <= -1000 => {
                format!("as called, {} before the planned instant", -after)
            }
            (true, _) => "as called, at the planned instant".to_owned(),
            (false, _) => "NOT what the call said".to_owned(),
        }));
        if let Some(cost) = &self.cost {
            lines.push(plain(""));
            let head = if done.as_called {
                "What the time it was done at cost, by the same plan"
            } else {
                "What it cost against the call, planned on from both"
            };
            lines.push((head.to_owned(), true));
            lines.extend(cost.words().into_iter().map(plain));
            if !cost.is_nothing() && !done.as_called {
                lines.push(plain("Times are up to: a longer search might find a way that costs less."));
            }
        }
        lines.push(plain(""));
        lines.push(("What really broke later for these carriers".to_owned(), true));
        if self.afterwards.is_empty() {
            lines.push(plain("nothing"));
        }
        lines.extend(self.afterwards.iter().map(|b| broken(b, opening)));
        lines
    }
}

/// What the last figure is.
const STOOD: &str = "Stood: picks that were more than two minutes late. Why, nobody said, so it did not come to the practice; \
                     stops that were said did.";

fn slack_words(slack: Dur) -> String {
    if slack < Dur::ZERO { format!("late by {}", -slack) } else { format!("could wait {slack} more") }
}

fn broken(b: &Breach, opening: &Opening) -> Line {
    let harm = b.harm.map_or("", crate::line::Harm::word);
    plain(format!("{} {harm}: {}", opening.clock(b.at), b.text))
}

impl Figure {
    /// Both values as they are read.
    pub fn values(&self) -> [String; 2] {
        [self.one, self.other].map(|v| self.value(v))
    }

    fn value(&self, v: i64) -> String {
        if self.is_time { Dur(v).to_string() } else { v.to_string() }
    }

    /// What the other differs by; nothing if by nothing that people would see.
    fn difference(&self) -> String {
        let more = self.other - self.one;
        if more == 0 || (self.is_time && more.abs() < 1000) {
            return String::new();
        }
        let judged = match self.better {
            Better::Either => "",
            Better::Less if more < 0 => ", better",
            Better::More if more > 0 => ", better",
            Better::Less | Better::More => ", WORSE",
        };
        format!("{} {}{judged}", self.value(more.abs()), if more > 0 { "more" } else { "less" })
    }
}

impl Compared {
    /// The page about it; the names head the two columns.
    pub fn lines(&self, opening: &Opening, names: [&str; 2]) -> Vec<Line> {
        let head = format!(
            "{:<22} {:>13} {:>12}",
            format!("Up to {}", opening.clock(self.until)),
            names[0],
            names[1]
        );
        let mut lines = vec![(head, true)];
        for figure in &self.figures {
            let [one, other] = figure.values();
            let by = figure.difference();
            let line = format!("{:<22} {one:>13} {other:>12}  {by}", figure.what);
            lines.push(plain(line.trim_end()));
        }
        if self.figures.iter().any(|f| f.key == "stood_ms" && f.one > 0) {
            lines.push(plain(STOOD));
        }
        lines.push(plain(""));
        lines.push(("Where they part".to_owned(), true));
        match &self.parting {
            None => lines.push(plain("nowhere, as far as both go")),
            Some(parting) => {
                let words = |w: &Option<String>| w.clone().unwrap_or_else(|| "nothing more".to_owned());
                lines.push(plain(format!(
                    "at {}, after {}",
                    opening.clock(parting.at),
                    many(parting.same, "event")
                )));
                lines.push(plain(format!("{}: {}", names[0], words(&parting.one))));
                lines.push(plain(format!("{}: {}", names[1], words(&parting.other))));
            }
        }
        for (name, all) in [(names[0], &self.only_one), (names[1], &self.only_other)] {
            lines.push(plain(""));
            lines.push((format!("Broken only in {name}"), true));
            if all.is_empty() {
                lines.push(plain("nothing"));
            }
            lines.extend(all.iter().map(|b| broken(b, opening)));
        }
        lines
    }
}
