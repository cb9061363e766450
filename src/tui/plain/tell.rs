//! What is different from a moment ago, each in one line.

use std::collections::BTreeMap;

use super::told;
use crate::ids::Seq;
use crate::shift::AlarmLevel;
use crate::tui::app::{App, Screen};
use crate::tui::changes::Outlook;
use crate::tui::screens::caution::cautions;
use crate::verify::Rule;
use crate::view::{AlarmOf, Board, Count, MainCall, Said, Urgency};

/// A call, or what there is instead, as it was told.
#[derive(Debug, PartialEq)]
struct Told {
    /// Which move, whether it has to wait, how much it presses.
    state: Option<(Said, bool, Urgency)>,
    words: String,
}

/// Remembers what was told.
#[derive(Debug, Default)]
pub struct Teller {
    cautioned: bool,
    call: Option<Told>,
    alarms: BTreeMap<AlarmOf, (AlarmLevel, String)>,
    breach: Option<(Rule, String, String)>,
    happened: Option<Seq>,
    briefed: bool,
    /// What is proposed and what it would do, as it was told.
    outlook: Vec<String>,
    /// The debrief that was read out was not whole.
    unfinished: bool,
}

impl Teller {
    /// The lines to say now; none if nothing has changed. Before the cautions are read there is nothing else.
    pub fn tell(&mut self, board: &Board, app: &App) -> Vec<String> {
        let mut lines = Vec::new();
        if !self.cautioned {
            self.cautioned = true;
            lines.extend(opening(board, app));
        }
        if app.screen == Screen::Caution {
            return lines;
        }
        if app.screen == Screen::Brief {
            if !self.briefed {
                self.briefed = true;
                lines.extend(told::brief(app));
            }
            return lines;
        }
        self.tell_happened(board, &mut lines);
        self.tell_alarms(board, &mut lines);
        self.tell_breach(board, &mut lines);
        self.tell_call(board, &mut lines);
        self.tell_outlook(app, &mut lines);
        if std::mem::replace(&mut self.unfinished, app.reading.unfinished) && !app.reading.unfinished {
            lines.push("The debrief is whole now; debrief reads it.".to_owned());
        }
        lines
    }

    /// Before and after, once no better one follows; what is worked out anew and comes to the same is not told again.
    fn tell_outlook(&mut self, app: &App, lines: &mut Vec<String>) {
        let is_last = match &app.changes.outlook {
            Outlook::Ready { last, .. } => *last,
            Outlook::Nothing | Outlook::Working => false,
            Outlook::Refused { .. } | Outlook::Failed => true,
        };
        if app.changes.stack.is_empty() {
            self.outlook.clear();
        } else if is_last && app.dialog.is_none() {
            let now = told::outlook(app);
            if self.outlook != now {
                self.outlook.clone_from(&now);
                lines.extend(now);
            }
        }
    }

    /// What was said at this terminal was answered there; it is not told again.
    pub fn knows(&mut self, seq: Seq) {
        self.happened = Some(seq);
    }

    fn tell_happened(&mut self, board: &Board, lines: &mut Vec<String>) {
        let last = board.log.first().map(|row| row.seq);
        if let Some(known) = self.happened {
            let new = board.log.iter().filter(|row| row.seq > known && !row.text.starts_with("alarm"));
            let told: Vec<String> = new.map(|row| format!("{} {} {}", row.at, row.who, row.text)).collect();
            lines.extend(told.into_iter().rev());
        }
        self.happened = last.or(self.happened).or(Some(Seq(0)));
    }

    fn tell_alarms(&mut self, board: &Board, lines: &mut Vec<String>) {
        let standing = || board.alarms.iter().filter(|a| a.is_alarm() && a.active && !a.is_shelved());
        for alarm in standing() {
            let known = self.alarms.insert(alarm.of, (alarm.level, alarm.text.clone()));
            if known.is_none_or(|(level, _)| level != alarm.level) {
                let (level, harm) = (alarm.level_word, alarm.harm.word());
                lines.push(format!("{} ALARM {level}, {harm}: {}", board.clock, alarm.text));
            }
        }
        let gone = |of: &AlarmOf| !standing().any(|a| a.of == *of);
        self.alarms.retain(|of, (_, text)| {
            if gone(of) {
                // What it said while it stood counted up to then, and told what to do.
                let past = board.alarms.iter().find(|a| a.of == *of && !a.active).map(|a| &a.text);
                let name = text.split(',').next().unwrap_or(text);
                let told = past.map_or(name, String::as_str);
                lines.push(format!("{} alarm ended: {told}", board.clock));
            }
            !gone(of)
        });
    }

    fn tell_breach(&mut self, board: &Board, lines: &mut Vec<String>) {
        let first = board.breaches.first();
        let breach = first.map(|b| b.of.clone());
        if breach != self.breach {
            lines.push(match first {
                Some(b) => format!("{} THIS PLAN CANNOT KEEP: {}", board.clock, b.text),
                None => format!("{} the plan keeps every window again", board.clock),
            });
            self.breach = breach;
        }
    }

    fn tell_call(&mut self, board: &Board, lines: &mut Vec<String>) {
        let told = match &board.call {
            Some(call) => Told { state: Some((call.said, call.wait, call.urgency)), words: call.plain() },
            None => Told { state: None, words: board.rest.clone() },
        };
        if self.call.as_ref() == Some(&told) {
            return;
        }
        let of = |t: &Told| t.state.map(|(said, ..)| said);
        let same_move = self.call.as_ref().is_some_and(|t| of(t).is_some() && of(t) == of(&told));
        lines.push(match &board.call {
            Some(call) if same_move => format!("{} {}: {}", board.clock, figures(call), told.words),
            Some(call) => whole(board, call),
            None => format!("{} NO CALL. {}", board.clock, told.words),
        });
        self.call = Some(told);
    }
}

/// The call with all that is said about it.
pub(super) fn whole(board: &Board, call: &MainCall) -> String {
    let stop = match call.air_max.filter(|_| call.critical) {
        Some(max) => format!("; NO STOP on the way, {max} of air at most"),
        None if call.critical => "; NO STOP on the way".to_owned(),
        None => String::new(),
    };
    format!("{} CALL {}; {}{stop}. {}", board.clock, call.plain(), figures(call), call.reason)
}

fn figures(call: &MainCall) -> String {
    let caption = call.caption();
    let by = call.by.as_ref().map_or_else(String::new, |t| format!(", at {t}"));
    let soon = if call.urgency == Urgency::Soon { "SOON, " } else { "" };
    match call.count {
        Count::NoLimit => caption.to_owned(),
        Count::Over(d) => format!("{caption} by {d}"),
        Count::Left(d) | Count::In(d) => format!("{soon}{caption} {d}{by}"),
    }
}

fn opening(board: &Board, app: &App) -> Vec<String> {
    let c = board.counts;
    let practice = if app.practice { ", a practice" } else { "" };
    let mut lines = vec![format!(
        "dwellhand: {}{practice}. {} on line, {} waiting, {} finished. It is {}.",
        board.line_name, c.on_line, c.queued, c.finished, board.clock
    )];
    if app.screen == Screen::Caution {
        lines.extend(cautions("type: state").iter().map(|(head, body)| format!("{head} {body}")));
        lines.push(
            "Enter: I have read it. From then on Enter says that the call was done. help lists the words."
                .to_owned(),
        );
    }
    lines
}
