//! Why and comparisons in words: the same lines for a page on the screen and for text.

use std::cmp::Ordering;

use super::compare::{APART, Better, Compared, Figure, Side};
use super::onward::Excess;
use super::why::Why;
use crate::civil::Opening;
use crate::units::{Dur, many};
use crate::verify::Breach;
use crate::view::{Count, MainCall, to_the_second};

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
                lines.push(plain(call.plain()));
                lines.push(plain(format!("why: {}", call.reason)));
                lines.push(plain(slack_words(call)));
            }
            None if self.stood => {
                lines.push(plain(
                    "Nothing was called: the crane was said to stand. It is held against the plan of then.",
                ));
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
            (true, Some(after)) if after.0 >= 1000 => {
                format!("as called, {after} after the planned instant, {}", opening.clock(done.at - after))
            }
            (true, Some(after)) if after.0 <= -1000 => {
                format!("as called, {} before the planned instant", -after)
            }
            (true, _) => "as called, at the planned instant".to_owned(),
            (false, _) if self.stood => "NOT what was planned next".to_owned(),
            (false, _) => "NOT what the call said".to_owned(),
        }));
        for (call, words) in &self.unanswered {
            let (due, until) = (opening.clock(call.due), opening.clock(call.until));
            lines.push(plain(format!(
                "NOBODY ANSWERED before that: {words}, due {due}, called until {until}"
            )));
        }
        if let Some((short, harm)) = done.too_soon {
            let (had, least) = (short.dwell, short.min);
            let words = format!("LIFTED TOO SOON, after {had} of at least {least} ({})", harm.word());
            lines.push(plain(format!("{words}: below it goes back where that spoils less")));
        }
        if let Some(cost) = &self.cost {
            lines.push(plain(""));
            let head = match (done.as_called, cost.weighs()) {
                (true, _) if !self.unanswered.is_empty() => {
                    "What leaving the calls before and the time it was done at cost"
                }
                (true, _) => "What the time it was done at cost, by the same plan",
                _ if done.too_soon.is_some() => "What it came to against the call, planned on from both",
                (false, Ordering::Less) => "It was as good as the call or better, planned on from both",
                (false, _) => "What it cost against the call, planned on from both",
            };
            lines.push((head.to_owned(), true));
            lines.extend(cost.words().into_iter().map(plain));
            if cost.weighs().is_gt() && !done.as_called {
                lines.push(plain("Times are up to: a longer search might find a way that costs less."));
            }
            let real = |e: &Excess| self.afterwards.iter().find(|b| e.is_of(b));
            if cost.breaks.iter().any(|e| real(e).is_some_and(|b| b.by != e.breach.by)) {
                lines.push(plain(
                    "These figures are by plan and against the call; what it really came to is below.",
                ));
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

/// How long the call could still wait: from then, to the latest start that its window allows.
fn slack_words(call: &MainCall) -> String {
    match (call.count, call.slack) {
        (Count::Left(left), _) => format!("could wait {left} more"),
        (Count::Over(by), _) => format!("past its latest start then by {by}"),
        (Count::In(ahead), Some(slack)) if slack >= Dur::ZERO => {
            format!("sets out in {ahead}, and could wait {slack} more then")
        }
        (Count::In(ahead), _) => format!("sets out in {ahead}"),
        (Count::NoLimit, _) => "nothing limits it".to_owned(),
    }
}

fn broken(b: &Breach, opening: &Opening) -> Line {
    let harm = b.harm.map_or("", crate::line::Harm::word);
    plain(format!("{} {harm}: {}", opening.clock(b.at), to_the_second(&b.text)))
}

/// What happened on one side, and when.
fn side_words(side: Option<&Side>, opening: &Opening) -> String {
    side.map_or_else(|| "nothing more".to_owned(), |s| format!("{} {}", opening.clock(s.at), s.text))
}

/// What two sides that read alike differ in.
fn apart_words(one: &Side, other: &Side) -> String {
    let [by, said] = [other.at - one.at, other.entered - one.entered];
    let seconds = |d: Dur| format!("{:.3} s", d.as_secs_f64().abs());
    match (by.0, said.0) {
        (0, 0) => "they differ in what was kept of it only".to_owned(),
        (0, _) => format!("the same, said {} apart", seconds(said)),
        _ => format!("the same, {} apart", seconds(by)),
    }
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
        // Of what is read, so that the three figures agree.
        let unit = if self.is_time { 1000 } else { 1 };
        let more = (self.other / unit - self.one / unit) * unit;
        if more == 0 {
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
            None => lines.push(plain(format!("nowhere by {APART} or more, as far as both go"))),
            Some(parting) => {
                let after = many(parting.same, "event");
                lines.push(plain(format!("at {}, after {after}", opening.clock(parting.at))));
                let told = [&parting.one, &parting.other].map(|side| side_words(side.as_ref(), opening));
                lines.extend(names.iter().zip(&told).map(|(name, words)| plain(format!("{name}: {words}"))));
                if let (true, Some(one), Some(other)) = (told[0] == told[1], &parting.one, &parting.other) {
                    lines.push(plain(apart_words(one, other)));
                }
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
