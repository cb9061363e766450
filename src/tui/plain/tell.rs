//! What is different from a moment ago, each in one line.

use std::collections::BTreeMap;

use crate::ids::Seq;
use crate::shift::AlarmLevel;
use crate::tui::app::{App, Screen};
use crate::tui::screens::caution::CAUTIONS;
use crate::view::{AlarmOf, Board, Count, MainCall, Said, Urgency};

/// Remembers what was told.
#[derive(Debug, Default)]
pub struct Teller {
    cautioned: bool,
    call: Option<(Option<(Said, bool, Urgency)>, String)>,
    alarms: BTreeMap<AlarmOf, (AlarmLevel, String)>,
    breach: Option<String>,
    happened: Option<Seq>,
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
        self.tell_happened(board, &mut lines);
        self.tell_alarms(board, &mut lines);
        self.tell_breach(board, &mut lines);
        self.tell_call(board, &mut lines);
        lines
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
        for (_, (_, text)) in self.alarms.extract_if(.., |of, _| gone(of)) {
            lines.push(format!("{} alarm over: {text}", board.clock));
        }
    }

    fn tell_breach(&mut self, board: &Board, lines: &mut Vec<String>) {
        let breach = board.breaches.first().map(|b| b.text.clone());
        if breach != self.breach {
            lines.push(match &breach {
                Some(text) => format!("{} THIS PLAN CANNOT KEEP: {text}", board.clock),
                None => format!("{} the plan keeps every window again", board.clock),
            });
            self.breach = breach;
        }
    }

    fn tell_call(&mut self, board: &Board, lines: &mut Vec<String>) {
        let (state, words) = match &board.call {
            Some(call) => (Some((call.said, call.wait, call.urgency)), call.plain()),
            None => (None, board.rest.clone()),
        };
        if self.call.as_ref().is_some_and(|(s, w)| *s == state && *w == words) {
            return;
        }
        let same_move =
            self.call.as_ref().is_some_and(|(s, _)| matches!((s, state), (Some(a), Some(b)) if a.0 == b.0));
        let line = match &board.call {
            Some(call) if same_move => format!("{} {}: {words}", board.clock, figures(call)),
            Some(call) => whole(board, call),
            None => format!("{} NO CALL. {words}", board.clock),
        };
        lines.push(line);
        self.call = Some((state, words));
    }
}

/// The call with all that is said about it.
pub(super) fn whole(board: &Board, call: &MainCall) -> String {
    let mut line = format!("{} CALL {}; {}", board.clock, call.plain(), figures(call));
    if call.critical {
        line.push_str("; NO STOP on the way");
        if let Some(max) = call.air_max {
            line.push_str(&format!(", {max} of air at most"));
        }
    }
    format!("{line}. {}", call.reason)
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
        lines.extend(CAUTIONS.iter().map(|(head, body)| format!("{head} {body}")));
        lines.push(
            "Enter: I have read it. From then on Enter says that the call was done. help lists the words."
                .to_owned(),
        );
    }
    lines
}
