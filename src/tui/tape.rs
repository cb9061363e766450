//! A replay on the screens: where the recording is played, and what keys ask of it. Pure.

use std::sync::Arc;

use super::app::{App, Effect};
use super::dialog::{Asks, Dialog, Field, Item, List, Means};
use crate::replay::{Mark, MarkKind, Point};
use crate::units::Time;
use crate::view::Board;

/// How many times faster than the wall a recording is played.
pub const SPEEDS: [u16; 9] = [1, 2, 5, 10, 20, 60, 120, 300, 600];

/// The speed to begin with, among them.
pub const FIRST_SPEED: usize = 4;

/// A recording as the screens show it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tape {
    /// The first and the last instant there is anything of.
    pub span: (Time, Time),
    /// Everything worth stopping at, by time.
    pub marks: Arc<Vec<Mark>>,
    /// Where it is.
    pub point: Point,
    /// How many events there are.
    pub events: usize,
    /// It goes on by itself.
    pub playing: bool,
    /// How fast, among [`SPEEDS`].
    pub speed: usize,
    /// How far the trainee has come, where questions are asked.
    pub learning: Option<String>,
}

/// What a person wants of a recording.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// Say something about the line, which a recording does not take.
    Say,
    /// Go on by itself, or stop.
    Toggle,
    /// To the next event.
    On,
    /// To the event before.
    Back,
    /// Play faster.
    Faster,
    /// Play slower.
    Slower,
    /// Ask for a time of day to go to.
    Ask,
    /// To an instant.
    To(Time),
    /// To the next mark of a kind, or of any.
    Next(Option<MarkKind>),
    /// To the mark before.
    Previous(Option<MarkKind>),
    /// Why this call, what was done, and what it cost.
    Why,
    /// Ask how to take the shift over.
    AskHow,
    /// Take the shift over as a practice.
    TakeOver(How),
    /// What happened beside the last practice that was taken over.
    Compare,
    /// Ask what comes next; with questions asked already: the next one.
    Learn,
    /// Ask no more.
    Unlearn,
    /// The move of this row is chosen.
    Answer(usize),
}

/// Who goes on with a shift that is taken over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// The person at the keys, so many times faster than the wall.
    Keys(u16),
    /// A simulated crew, so many times faster than the wall.
    Crew(u16),
    /// A simulated crew, as far as the recording goes, without a screen.
    AtOnce,
}

impl How {
    /// All ways, as they are offered.
    pub const ALL: [Self; 6] =
        [Self::Keys(1), Self::Keys(5), Self::Keys(20), Self::Crew(20), Self::Crew(120), Self::AtOnce];

    fn words(self) -> String {
        match self {
            Self::Keys(1) => "I go on, in real time".to_owned(),
            Self::Keys(n) => format!("I go on, {n} times faster"),
            Self::Crew(n) => format!("a simulated crew goes on, {n} times faster, and I watch"),
            Self::AtOnce => "a simulated crew goes on at once, as far as this recording goes".to_owned(),
        }
    }
}

/// What a wish makes of the app; what is left goes to whoever plays.
pub fn update(app: &mut App, wish: Wish, board: &Board) -> Vec<Effect> {
    app.message = None;
    match wish {
        Wish::Say => {
            app.refuse(
                "Nothing is said in a recording, not even that an alarm was seen. T takes it over.",
                board.now,
            );
            Vec::new()
        }
        Wish::Ask => {
            app.dialog = Some(Dialog::Field(Field {
                title: "Go to which time?".to_owned(),
                hint: format!("a time of day such as 10:40 or 10:40:30; now it is {}", board.clock),
                text: String::new(),
                wrong: None,
                asks: Asks::Instant,
            }));
            Vec::new()
        }
        Wish::AskHow => {
            let item = |how: How| Item { text: how.words(), means: Means::TakeOver(how) };
            let title = format!("Take over at {} as a practice; this recording stays as it is", board.clock);
            app.dialog = Some(Dialog::List(List::of(title, How::ALL.into_iter().map(item).collect())));
            Vec::new()
        }
        wish => vec![Effect::Tape(wish)],
    }
}

/// The instant of a time of day that was typed, or what is wrong with it.
pub fn instant(text: &str, board: &Board) -> Result<Time, String> {
    let wrong = || "that is no time of day; such as 10:40 or 10:40:30".to_owned();
    let parts: Option<Vec<u32>> = text.trim().split(':').map(|p| p.parse().ok()).collect();
    let (h, m, s) = match parts.as_deref() {
        Some([h, m]) => (*h, *m, 0),
        Some([h, m, s]) => (*h, *m, *s),
        _ => return Err(wrong()),
    };
    if h > 23 || m > 59 || s > 59 {
        return Err(wrong());
    }
    Ok(board.opening().next_time_of_day(h, m) + crate::units::Dur::from_secs(i64::from(s)))
}

/// What a mark is, in a sentence.
pub fn name(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::Breach => "broken window",
        MarkKind::Alarm => "alarm",
        MarkKind::Deviation => "call that was not followed",
        MarkKind::Change => "change",
        MarkKind::Note => "note",
    }
}
