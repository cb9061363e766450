//! "What next?" over a recording: looks ahead for the next moment worth a question, asks, and grows harder.
//!
//! Two right answers in a row lead on from plain lines to tight windows, two more to upsets. Where a recording has no such
//! moment ahead it asks about one that it has.

use std::sync::Arc;

use super::choosing::Choosing;
use super::quiz;
use crate::live::{Brought, Moment, Seeking};
use crate::plan::Settings;
use crate::replay::{Point, Recording};
use crate::train::Grade;
use crate::view::Board;

/// Right answers in a row that lead on to harder ones.
const IN_A_ROW: usize = 2;

/// How a trainee did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Questions that were answered.
    pub asked: usize,
    /// Answers that cost nothing.
    pub right: usize,
    /// Answers that would have broken a window.
    pub harmful: usize,
}

/// What is known about the next moment.
#[derive(Default)]
enum Ahead {
    /// Nobody looks for it.
    #[default]
    Unknown,
    /// It is being looked for.
    Sought(Seeking),
    /// This is it.
    Known(Moment),
    /// There is none ahead.
    None,
}

/// Where a trainee is in it.
#[derive(Default)]
pub(super) struct Learning {
    /// Questions are asked.
    pub on: bool,
    /// Goes to the next moment as soon as it is known; else waits until the recording comes there.
    pub goes: bool,
    level: Grade,
    row: usize,
    tally: Tally,
    ahead: Ahead,
    /// From where it was looked for.
    from: Point,
    /// The pick that was asked about last.
    last: Option<usize>,
    asked: Option<Posed>,
}

/// A question that is open.
struct Posed {
    moment: Moment,
    hidden: Board,
    told: Board,
}

/// An answer that was given, as it is shown.
pub(super) type Verdict = super::dialog::Dialog;

impl Learning {
    /// How the trainee did so far.
    pub fn tally(&self) -> Tally {
        self.tally
    }

    /// Looks ahead from a point, unless what is known still holds there.
    pub fn look_ahead(&mut self, recording: &Arc<Recording>, from: Point, settings: Settings) {
        // Nobody is asked the same again while the recording stands there.
        let was_asked = self.last == Some(from.ix);
        let from = if was_asked { recording.after(from.ix + 1) } else { from };
        let holds = match &self.ahead {
            Ahead::Unknown => false,
            Ahead::Sought(_) => self.from == from,
            Ahead::Known((point, _)) => self.from <= from && from <= *point,
            Ahead::None => self.from <= from,
        };
        if !holds {
            self.from = from;
            let seeking = Seeking::begin(Arc::clone(recording), from, self.level, settings);
            self.ahead = seeking.map_or(Ahead::None, Ahead::Sought);
        }
    }

    /// Takes up what was found.
    pub fn keep(&mut self) {
        let Ahead::Sought(seeking) = &mut self.ahead else { return };
        self.ahead = match seeking.take() {
            Brought::Nothing => return,
            Brought::Found(Some(moment)) => Ahead::Known(moment),
            Brought::Found(None) | Brought::Over => Ahead::None,
        };
    }

    /// True while the next moment is looked for.
    pub fn is_seeking(&self) -> bool {
        self.on && matches!(self.ahead, Ahead::Sought(_))
    }

    /// True while a question is open.
    pub fn is_asking(&self) -> bool {
        self.asked.is_some()
    }

    /// Where the next question is, if it is known.
    pub fn next(&self) -> Option<Point> {
        match &self.ahead {
            Ahead::Known((point, _)) if self.on => Some(*point),
            _ => None,
        }
    }

    /// Asks about the moment that was found; the moves to choose from.
    pub fn pose(&mut self, recording: &Recording) -> Option<Choosing> {
        let Ahead::Known(moment) = std::mem::take(&mut self.ahead) else { return None };
        let (point, question) = &moment;
        let (line, history) = (recording.line(), recording.history(point.ix));
        let (hidden, told) = quiz::boards(line, question, &history, recording.opening());
        let choosing = quiz::choosing(line, question, question.grade.about().to_owned());
        self.asked = Some(Posed { moment, hidden, told });
        Some(choosing)
    }

    /// What is to be seen while a question is open.
    pub fn board(&self) -> Option<&Board> {
        self.asked.as_ref().map(|posed| &posed.hidden)
    }

    /// Takes an answer; what is said to it.
    pub fn answer(&mut self, recording: &Recording, row: usize) -> Option<Verdict> {
        let choice = *self.asked.as_ref()?.moment.1.shown().get(row)?;
        let Posed { moment: (point, question), told, .. } = self.asked.take()?;
        self.last = Some(point.ix);
        let right = question.is_right(choice);
        self.tally.asked += 1;
        self.tally.right += usize::from(right);
        self.tally.harmful += usize::from(question.is_harmful(choice));
        let grows = self.count(right);
        let mut lines = quiz::verdict(recording.line(), &question, choice, &told);
        let done = recording.after(point.ix + 1).at;
        lines.push(("What was done then".to_owned(), true));
        lines.push((format!("  {} {}", recording.opening().clock(done), recording.words(point.ix)), false));
        let Tally { asked, right, .. } = self.tally;
        lines.push((String::new(), false));
        lines.push((format!("{right} of {asked} right. {grows}"), false));
        Some(quiz::verdict_page(&question, choice, lines))
    }

    /// Counts an answer, and says where that leads.
    fn count(&mut self, right: bool) -> String {
        self.row = if right { self.row + 1 } else { 0 };
        if self.level == Grade::Upset {
            return "These are the hardest.".to_owned();
        }
        if self.row < IN_A_ROW {
            let more = IN_A_ROW - self.row;
            return format!("{more} more in a row, and it goes on with {}.", several(self.level.harder()));
        }
        self.row = 0;
        self.level = self.level.harder();
        format!("Now it goes on with {}.", several(self.level))
    }

    /// Gives an open question up.
    pub fn pass_over(&mut self) {
        if let Some(posed) = self.asked.take() {
            self.last = Some(posed.moment.0.ix);
        }
    }

    /// Where a trainee is, in a few words.
    pub fn words(&self) -> Option<String> {
        let Tally { asked, right, .. } = self.tally;
        let score = if asked > 0 { format!(", {right} of {asked} right") } else { String::new() };
        self.on.then(|| format!("WHAT NEXT? {}{score}", several(self.level)))
    }
}

fn several(grade: Grade) -> &'static str {
    match grade {
        Grade::Plain => "plain lines",
        Grade::Tight => "tight windows",
        Grade::Upset => "upsets",
    }
}
