//! A terminal that is too small: the call and the first alarm in as many words as there is room for, and what size is
//! needed.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Look, NEEDED};
use crate::tui::app::App;
use crate::tui::keymap::Context;
use crate::tui::theme::Role;
use crate::tui::widgets::{countdown, text};
use crate::view::{AlarmOf, AlarmRow, Board, Count, MainCall, Urgency};

/// How much is told.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Telling {
    Whole,
    Shorter,
    Short,
    Least,
}

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let tellings = [Telling::Whole, Telling::Shorter, Telling::Short, Telling::Least];
    let told = tellings.map(|telling| wrapped(lines(board, app, area, telling), area.width));
    let fits = |rows: &&Vec<(String, Role)>| rows.len() <= usize::from(area.height);
    let rows = told.iter().find(fits).unwrap_or(&told[tellings.len() - 1]);
    for ((part, role), y) in rows.iter().zip(0..area.height) {
        text::put(buf, text::row(area, y), part, look.style(*role), look.glyphs.ellipsis);
    }
}

fn wrapped(lines: Vec<(String, Role)>, width: u16) -> Vec<(String, Role)> {
    lines
        .into_iter()
        .flat_map(|(line, role)| text::wrap(&line, width).into_iter().map(move |part| (part, role)))
        .collect()
}

fn lines(board: &Board, app: &App, area: Rect, telling: Telling) -> Vec<(String, Role)> {
    let mut lines: Vec<(String, Role)> = Vec::new();
    let cautions = app.context() == Context::Caution;
    if app.dialog.is_some() {
        let how = if telling == Telling::Least {
            "Esc"
        } else {
            "A question is open: make the window larger, or Esc."
        };
        lines.push((how.to_owned(), Role::Answer));
    }
    if cautions && telling < Telling::Least {
        lines.push(("Make the window larger and read the cautions before you work.".to_owned(), Role::Soon));
    }
    lines.push(match &board.call {
        Some(call) => (call_words(call, telling), call_role(call)),
        None if telling == Telling::Least => (board.rest_head.join(" "), Role::Strong),
        None => (board.rest.clone(), Role::Strong),
    });
    let gone = board.gone_alarms();
    if let Some(alarm) = board.first_alarm().filter(|a| a.active) {
        lines.push((alarm_words(board, alarm, telling), Role::Over));
    } else if gone > 0 && telling < Telling::Least {
        lines.push((format!("No alarm now; {gone} past, not seen yet"), Role::Strong));
    }
    let (w, h) = NEEDED;
    match telling {
        Telling::Whole => lines.push((
            format!("Too small: needs {w}x{h}, has {}x{}. q, then y, leaves.", area.width, area.height),
            Role::Text,
        )),
        Telling::Shorter => lines.push((format!("Needs {w}x{h}"), Role::Text)),
        Telling::Short | Telling::Least => {}
    }
    if let Some(message) = app.message.as_ref().filter(|_| app.dialog.is_none() && telling < Telling::Short) {
        lines.push((message.text.clone(), Role::Answer));
    }
    lines
}

fn call_role(call: &MainCall) -> Role {
    match call.urgency {
        Urgency::Calm => Role::Strong,
        urgency => countdown::role(urgency),
    }
}

/// The call, what its figures count never left out: figures alone read like a time of day.
fn call_words(call: &MainCall, telling: Telling) -> String {
    if telling < Telling::Short {
        let figures = match call.count {
            Count::NoLimit => call.caption().to_owned(),
            count => format!("{} {}", call.caption(), countdown::big(count)),
        };
        return format!("{figures}: {}", call.plain());
    }
    let figures = match call.count {
        Count::NoLimit => String::new(),
        Count::Left(d) => format!("{} left", countdown::figures(d)),
        Count::Over(d) => format!("{} over", countdown::figures(d)),
        Count::In(d) => format!("in {}", countdown::figures(d)),
    };
    let (verb, carrier) = (call.verb.word(), &call.carrier);
    match telling {
        Telling::Least => format!("{verb} {carrier} {figures}"),
        _ => format!("{verb} {carrier} {} to {}, {figures}", call.from.name, call.to.name),
    }
}

fn alarm_words(board: &Board, alarm: &AlarmRow, telling: Telling) -> String {
    let (level, letter) = (alarm.level_word, alarm.harm.letter());
    let of = match alarm.of {
        AlarmOf::Load(key) | AlarmOf::Risk(_, key) => board.carrier(key.carrier).map(|c| c.name.as_str()),
        AlarmOf::Stop(hoist) => board.hooks.iter().find(|h| h.hoist == hoist).map(|h| h.name.as_str()),
    };
    match telling {
        Telling::Whole => format!("ALARM {level} {letter} {}", alarm.text),
        Telling::Shorter => format!("ALARM {level} {letter} {}", alarm.what),
        Telling::Short | Telling::Least => format!("{level} {letter} {}", of.unwrap_or_default()),
    }
}
