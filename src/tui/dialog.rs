//! Dialogs: at most one is open. What each holds, and what its keys make of it.

use std::sync::Arc;

use super::action::Action;
use super::changes::{Figure, Pick};
use super::entries;
use super::tape::How;
use crate::ids::{CarrierId, HoistId, Seq, TankId};
use crate::shift::ledger::Sign;
use crate::shift::{AlarmKey, Claim};
use crate::units::{Dur, Time};
use crate::view::Said;

/// One step of the amount keys.
const STEP: Dur = Dur::from_secs(10);

/// The longest line that can be typed.
const LONGEST_TEXT: usize = 200;

/// The longest "ago" that can be said.
const LONGEST: Dur = Dur::from_secs(99 * 60 + 59);

/// Something that wants an answer, or is read and closed.
#[derive(Debug, Clone, PartialEq)]
pub enum Dialog {
    /// Yes or no.
    Ask(Ask),
    /// How long ago.
    Amount(Amount),
    /// One of many.
    List(List),
    /// Something typed.
    Field(Field),
    /// One tank in detail.
    Tank(TankId),
    /// All keys, scrolled.
    Help(usize),
    /// Something worked out, to be read.
    Page(Page),
    /// An answer to read, scrolled.
    Answer(Vec<String>, usize),
}

/// A page to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// What it is about.
    pub of: PageOf,
    /// Its heading.
    pub title: &'static str,
    /// Its lines, headings marked.
    pub lines: Arc<Vec<(String, bool)>>,
    /// The first line that is shown.
    pub scroll: usize,
}

/// What a page is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PageOf {
    /// Why a call was what it was.
    Why,
    /// A practice beside what happened.
    Compared,
    /// What a chosen move would have cost.
    Verdict,
}

impl Page {
    /// A page that shows its beginning.
    pub fn new(of: PageOf, title: &'static str, lines: Arc<Vec<(String, bool)>>) -> Self {
        Self { of, title, lines, scroll: 0 }
    }
}

/// A question.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// What it is about.
    pub title: String,
    /// What yes would mean.
    pub lines: Vec<String>,
    /// What yes does.
    pub yes: Consequence,
}

/// What a yes does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Consequence {
    /// Leave.
    Quit,
    /// Take back this entry, if it still is the last.
    Undo(Seq),
    /// Say it happened now.
    Say(Said),
    /// Say it happened then.
    SayAt(Said, Time),
    /// The last thing said happened then, if it still is the last.
    Retime(Seq, Time),
    /// Forget all proposed changes.
    Drop,
}

/// "That was ... ago."
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// What happened then.
    pub subject: Subject,
    /// What the person may mean instead.
    pub other: Option<Subject>,
    /// The digits typed, as minutes and seconds from the right.
    pub digits: String,
    /// How long ago.
    pub ago: Dur,
}

/// What the amount is about.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// In words.
    pub text: String,
    /// What is said.
    pub means: Timed,
    /// How long ago to begin with.
    pub ago: Dur,
}

/// Something said with its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Timed {
    /// It happened then.
    Say(Said),
    /// The last thing said happened then, if it still is the last.
    Retime(Seq),
    /// The carrier has been there since then.
    Claim(CarrierId, Claim),
    /// What is entered next was then.
    Entry,
}

/// A list with a filter.
#[derive(Debug, Clone, PartialEq)]
pub struct List {
    /// What is asked.
    pub title: String,
    /// What it is about, if there is more to say than a title holds.
    pub about: String,
    /// All rows.
    pub items: Vec<Item>,
    /// What was typed.
    pub filter: String,
    /// The chosen row among those that pass the filter.
    pub cursor: usize,
}

/// One row of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// As read.
    pub text: String,
    /// What taking it means.
    pub means: Means,
}

/// A line that is typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// What is asked.
    pub title: String,
    /// How to write it.
    pub hint: String,
    /// As typed so far.
    pub text: String,
    /// What is wrong with what was typed.
    pub wrong: Option<String>,
    /// What it is for.
    pub asks: Asks,
}

/// What a typed line is for.
#[derive(Debug, Clone, PartialEq)]
pub enum Asks {
    /// Why the proposed changes are made.
    Reason,
    /// The PIN; what is typed is not shown.
    Pin,
    /// A figure or a name for a change.
    Figure(Figure),
    /// The instant a recording goes to.
    Instant,
    /// Whose hand a signature is.
    Initials(Sign),
    /// Something for an entry.
    Entry(entries::Asked),
    /// Process arithmetic.
    Reckon,
}

/// What taking a row means.
#[derive(Debug, Clone, PartialEq)]
pub enum Means {
    /// This is what was done.
    Said(Said),
    /// This carrier is somewhere else.
    Carrier(CarrierId),
    /// This hoist stands somewhere else.
    Hoist(HoistId),
    /// The carrier is there.
    Claim(CarrierId, Claim),
    /// The hoist stands there.
    HoistAt(HoistId, TankId),
    /// Set the alarm aside for this reason.
    Shelve(AlarmKey, &'static str),
    /// Look into this tank.
    Tank(TankId),
    /// The next step towards a change.
    Pick(Pick),
    /// Take the shift over.
    TakeOver(How),
    /// This is signed.
    Sign(Sign),
    /// The next step towards an entry.
    Enter(entries::Pick),
}

impl Field {
    /// What is wrong with it as it is, whatever it is for: a line that was not typed letter by letter may be too long.
    pub fn is_too_long(&self) -> Option<String> {
        too_long(self.text.chars().count())
    }

    /// What a key makes of it.
    pub fn edit(&mut self, action: Action) {
        match action {
            Action::Type(c) if !c.is_control() => {
                self.wrong = too_long(self.text.chars().count() + 1);
                if self.wrong.is_none() {
                    self.text.push(c);
                }
                return;
            }
            Action::Erase => drop(self.text.pop()),
            Action::EraseAll => self.text.clear(),
            _ => return,
        }
        self.wrong = None;
    }
}

/// What is wrong with a line of so many letters; more would be cut where it is shown.
fn too_long(letters: usize) -> Option<String> {
    (letters > LONGEST_TEXT).then(|| format!("{LONGEST_TEXT} letters at most; what is more is not taken"))
}

impl Amount {
    /// Asks about a subject.
    pub fn of(subject: Subject, other: Option<Subject>) -> Self {
        Self { ago: subject.ago, subject, other, digits: String::new() }
    }

    /// What a key makes of it.
    pub fn edit(&mut self, action: Action) {
        match action {
            Action::Up => self.set(self.ago + STEP),
            Action::Down => self.set(self.ago - STEP),
            Action::Type(c) if c.is_ascii_digit() && self.digits.len() < 4 => {
                self.digits.push(c);
                self.read();
            }
            Action::Erase => {
                self.digits.pop();
                self.read();
            }
            Action::Next => {
                if let Some(other) = self.other.take() {
                    let subject = std::mem::replace(&mut self.subject, other);
                    self.ago = self.subject.ago;
                    self.other = Some(subject);
                    self.digits.clear();
                }
            }
            _ => {}
        }
    }

    /// True if a time that was said would only be moved by the time the question was open.
    pub fn is_as_said(&self) -> bool {
        matches!(self.subject.means, Timed::Retime(_)) && self.ago == self.subject.ago
    }

    fn set(&mut self, ago: Dur) {
        self.ago = ago.clamp(Dur::ZERO, LONGEST);
        self.digits.clear();
    }

    /// Takes an amount that was said in one piece.
    pub fn say(&mut self, ago: Dur) {
        self.set(ago);
    }

    /// Digits fill from the right: `130` is 1:30, `45` is 0:45.
    fn read(&mut self) {
        let n: i64 = self.digits.parse().unwrap_or(0);
        self.ago = Dur::from_secs(n / 100 * 60 + n % 100).clamp(Dur::ZERO, LONGEST);
    }
}

impl List {
    /// A list with nothing typed.
    pub fn of(title: impl Into<String>, items: Vec<Item>) -> Self {
        Self { title: title.into(), about: String::new(), items, filter: String::new(), cursor: 0 }
    }

    /// The same with more about what is asked.
    #[must_use]
    pub fn about(self, about: impl Into<String>) -> Self {
        Self { about: about.into(), ..self }
    }

    /// The rows that pass the filter: every typed word occurs somewhere in the row. Those that begin as was typed come first:
    /// `10` means ten minutes rather than what ends at ten past.
    pub fn passing(&self) -> Vec<&Item> {
        let filter = self.filter.to_lowercase();
        let words: Vec<&str> = filter.split_whitespace().collect();
        let passes = |item: &&Item| {
            let text = item.text.to_lowercase();
            words.iter().all(|w| text.contains(w))
        };
        let mut rows: Vec<&Item> = self.items.iter().filter(passes).collect();
        rows.sort_by_key(|item| !item.text.to_lowercase().starts_with(filter.trim_start()));
        rows
    }

    /// What a key makes of it.
    pub fn edit(&mut self, action: Action) {
        match action {
            Action::Type(c) if self.filter.chars().count() < 40 && !c.is_control() => {
                self.filter.push(c);
                self.cursor = 0;
            }
            Action::Erase => {
                self.filter.pop();
                self.cursor = 0;
            }
            Action::EraseAll => {
                self.filter.clear();
                self.cursor = 0;
            }
            _ => {}
        }
        let count = self.passing().len();
        self.cursor = moved(self.cursor, action, count);
    }
}

/// Where a cursor goes on a moving key, inside `count` rows.
pub fn moved(cursor: usize, action: Action, count: usize) -> usize {
    const PAGE: usize = 8;
    let last = count.saturating_sub(1);
    match action {
        Action::Up => cursor.saturating_sub(1),
        Action::Down => cursor + 1,
        Action::PageUp => cursor.saturating_sub(PAGE),
        Action::PageDown => cursor + PAGE,
        Action::First => 0,
        Action::Last => last,
        _ => cursor,
    }
    .min(last)
}

/// The claim with another "since".
pub fn since(claim: Claim, at: Time) -> Claim {
    match claim {
        Claim::InTank { tank, visit, .. } => Claim::InTank { tank, since: at, visit },
        Claim::OnHook { hoist, from, leaves, .. } => Claim::OnHook { hoist, from, leaves, lifted: at },
        other => other,
    }
}

/// True if the claim needs an instant.
pub fn is_timed(claim: Claim) -> bool {
    matches!(claim, Claim::InTank { .. } | Claim::OnHook { .. })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount() -> Amount {
        let means = Timed::Retime(Seq(1));
        Amount::of(Subject { text: String::new(), means, ago: Dur::ZERO }, None)
    }

    #[test]
    fn a_time_that_was_said_stays_until_another_is_given() {
        let mut amount = amount();
        assert!(amount.is_as_said());
        amount.edit(Action::Type('5'));
        assert!(!amount.is_as_said());
    }

    #[test]
    fn what_a_line_does_not_take_is_said() {
        let mut field = Field {
            title: String::new(),
            hint: String::new(),
            text: "x".repeat(LONGEST_TEXT - 1),
            wrong: None,
            asks: Asks::Reason,
        };
        field.edit(Action::Type('y'));
        assert!(field.text.ends_with('y') && field.wrong.is_none());
        field.edit(Action::Type('z'));
        assert!(field.text.ends_with('y'));
        assert!(field.wrong.is_some_and(|w| w.contains("200 letters at most")));
    }

    #[test]
    fn digits_fill_from_the_right() {
        let mut a = amount();
        for (c, secs) in [('1', 1), ('3', 13), ('0', 90)] {
            a.edit(Action::Type(c));
            assert_eq!(a.ago, Dur::from_secs(secs));
        }
        a.edit(Action::Erase);
        assert_eq!(a.ago, Dur::from_secs(13));
    }

    #[test]
    fn rows_that_begin_as_typed_come_first() {
        let row = |text: &str| Item { text: text.to_owned(), means: Means::Carrier(CarrierId(0)) };
        let mut list = List::of("", ["5 min, until 10:44", "10 min, until 10:49"].map(row).into());
        for typed in ["10", "10 min"] {
            list.filter = typed.to_owned();
            assert_eq!(list.passing()[0].text, "10 min, until 10:49", "{typed}");
        }
    }

    #[test]
    fn arrows_step_by_ten_seconds_and_never_into_the_future() {
        let mut a = amount();
        a.edit(Action::Down);
        assert_eq!(a.ago, Dur::ZERO);
        a.edit(Action::Up);
        a.edit(Action::Up);
        assert_eq!(a.ago, Dur::from_secs(20));
    }
}
