//! Alarms and what the plan cannot keep; and the strip that shows the first of them on every screen.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Look;
use crate::line::Harm;
use crate::shift::alarm::Priority;
use crate::tui::app::App;
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::text;
use crate::view::{AlarmRow, BathRow, Board, Wrong};

/// Where fewer cells leave what is to be done little room, harm is a letter.
const WIDE: u16 = 100;

fn role(alarm: &AlarmRow) -> Role {
    if alarm.is_shelved() || !alarm.active {
        return Role::Text;
    }
    match alarm.priority {
        Some(Priority::High) => Role::Over,
        Some(Priority::Medium) => Role::Soon,
        Some(Priority::Low) => Role::Strong,
        None => Role::Text,
    }
}

/// Paints the first alarm, then the first broken promise; says how many rows it took, at least one.
pub(super) fn strip(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) -> u16 {
    let e = look.glyphs.ellipsis;
    let mut y = 0;
    let gone = board.gone_alarms();
    if let Some(alarm) = board.first_alarm().filter(|a| a.active) {
        let more = and_more(board.standing_alarms());
        let line = |text: &str| {
            format!(
                "{} {} {}  {text}",
                alarm.level_word,
                alarm.harm.letter(),
                if alarm.unseen { "UNSEEN" } else { "seen" },
            )
        };
        // That there are more is said nowhere else on some screens; the harm has its letter in front.
        let told = [&*alarm.text, alarm.text_without_risk()].map(|text| format!("{}{more}", line(text)));
        let rows = |line: &&String| text::wrap(line, area.width.saturating_sub(2)).len();
        let fits = told.iter().min_by_key(rows).map_or("", String::as_str);
        y += bar(buf, area, y, fits, 1, role(alarm), look);
    } else if gone > 0 {
        // Where nothing can be said, that is not offered.
        let seen = if app.tape.is_some() || app.practising.over { "" } else { ", a says seen" };
        let aside = match board.alarms_aside() {
            0 => String::new(),
            n => format!(" but {n} set aside"),
        };
        let line = format!("No alarm now{aside}; {gone} past, not seen yet: 2 shows them{seen}");
        y += bar(buf, area, y, &line, 1, Role::Strong, look);
    }
    let hoists = board.changed_hoists();
    if board.call.is_some() && !hoists.is_empty() {
        y += bar(buf, area, y, &format!("CRANE {}", hoists.join("; ")), 1, Role::Strong, look);
    }
    for bench in board.benches.iter().take(2) {
        let role = if bench.elapsed > bench.window.1 { Role::Soon } else { Role::Strong };
        y += bar(buf, area, y, &bench.words(), 1, role, look);
    }
    if let Some(doubt) = board.doubts.first() {
        y += bar(buf, area, y, doubt, board.doubts.len(), Role::Strong, look);
    }
    let loads = |bath: &BathRow| {
        let held = board.tanks.iter().find(|t| t.tank == bath.tank).map_or(&[][..], |t| &t.held);
        held.iter().map(|held| held.name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let mut shut: Vec<_> = board.baths.iter().filter_map(|b| Some((loads(b), b, b.shut.as_ref()?))).collect();
    // One with a load in it comes first.
    shut.sort_by_key(|(loads, ..)| loads.is_empty());
    if let Some((loads, bath, why)) = shut.first() {
        let with = if loads.is_empty() { String::new() } else { format!("; {loads} in it") };
        let line = format!("BATH {why} {}: no load goes in{with}", bath.name);
        y += bar(buf, area, y, &line, shut.len(), Role::Strong, look);
    }
    if let Some(breach) = board.breaches.first() {
        let line = format!("THIS PLAN CANNOT KEEP: {} {}", breach.letter, breach.text);
        y += bar(buf, area, y, &line, board.breaches.len(), Role::Strong, look);
    }
    if y == 0 {
        text::put(buf, text::row(area, 0), &format!(" {}", board.all_well()), look.style(Role::Quiet), e);
        y = 1;
    }
    y
}

/// Said behind the first of so many.
fn and_more(all: usize) -> String {
    if all > 1 { format!("  (+{} more)", all - 1) } else { String::new() }
}

/// The first of `all` sentences over the whole width, on two rows if it needs them. How many more there are is said in short,
/// or on a row of its own, where it does not fit behind.
fn bar(buf: &mut Buffer, area: Rect, y: u16, line: &str, all: usize, role: Role, look: &Look) -> u16 {
    let e = look.glyphs.ellipsis;
    let width = area.width.saturating_sub(2);
    let alone = text::wrap(line, width);
    let with = |more: String| text::wrap(&format!("{line}{more}"), width);
    let in_short = || if all > 1 { format!(" (+{})", all - 1) } else { String::new() };
    let fits = |rows: &Vec<String>| rows.len() <= alone.len();
    let parts = Some(with(and_more(all))).filter(fits).or_else(|| Some(with(in_short())).filter(fits));
    let parts = parts.unwrap_or_else(|| if alone.len() < 2 { with(and_more(all)) } else { alone.clone() });
    let last = parts.len().min(2);
    for (ix, part) in parts.iter().take(last).enumerate() {
        let row = text::row(area, y + ix as u16);
        if role != Role::Strong {
            buf.set_style(row.intersection(buf.area), look.style(role));
        }
        let cut_off = ix + 1 == last && parts.len() > last;
        let part = if cut_off { format!(" {part} {e}") } else { format!(" {part}") };
        text::put(buf, row, &part, look.style(role), e);
    }
    last as u16
}

/// How many rows hold all of them with nothing cut, heading and all.
pub(super) fn height(board: &Board, cells: u16) -> usize {
    let tall = table::unfolded(&columns(cells), &rows_of(board, cells), cells).0;
    if tall.is_empty() { 1 } else { tall.len() + 1 }
}

fn columns(cells: u16) -> [Column<'static>; 5] {
    let whole = |head, keep| Column { head, kind: Kind::Whole, keep };
    let what = Column { head: "what, where, do what, by when", kind: Kind::Words(24), keep: 8 };
    let harm = if cells < WIDE { "" } else { "harm" };
    [whole("state", 5), whole("", 9), whole(harm, 6), whole("ends", 3), what]
}

fn rows_of(board: &Board, cells: u16) -> Vec<Vec<Cell>> {
    board.wrongs().map(|wrong| row_of(wrong, cells)).collect()
}

fn row_of(wrong: Wrong<'_>, cells: u16) -> Vec<Cell> {
    let harm = |letter: char, word: &str| {
        if cells < WIDE { letter.to_string() } else { format!("{letter} {word}") }
    };
    match wrong {
        Wrong::Alarm(a) => {
            let role = role(a);
            let state = if a.is_shelved() { "set aside" } else { a.state_word.as_str() };
            let mut text = a.text.clone();
            if a.is_shelved() {
                // The column says what was done with it.
                let until = a.state_word.strip_prefix("set aside ").unwrap_or(&a.state_word);
                text = format!("{until}: {text}");
            }
            vec![
                Cell::plain(state),
                Cell::of(a.level_word, role),
                Cell::of(harm(a.harm.letter(), a.harm.word()), role),
                Cell::plain(a.by.clone().unwrap_or_default()),
                Cell::plain(text),
            ]
        }
        Wrong::Breach(b) => vec![
            Cell::plain("plan"),
            Cell::of("CANNOT", Role::Soon),
            Cell::plain(harm(b.letter, b.harm.map_or("no way", Harm::word))),
            Cell::plain(b.at.as_str()),
            Cell::plain(b.text.as_str()),
        ],
    }
}

/// Paints what is wrong: whole where there is room for all of it, else the chosen row whole and as many from the top as fit.
pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, chosen: Option<usize>, look: &Look) {
    let (rows, columns) = (rows_of(board, area.width), columns(area.width));
    if rows.is_empty() {
        let line = format!("  {}", board.all_well());
        text::put(buf, text::row(area, 0), &line, look.style(Role::Text), look.glyphs.ellipsis);
        return;
    }
    let height = usize::from(area.height);
    let heading = area.height > 6;
    let room = height - usize::from(heading);
    let whole =
        if rows.len() > room { whole_text(board, &rows, &columns, chosen, area.width) } else { Vec::new() };
    let below = if whole.len() * 2 <= height { whole.len() as u16 } else { 0 };
    let list = Rect { height: area.height - below, ..area };
    // The strip has the first alarm whole while it stands.
    let told = board.first_alarm().filter(|a| a.active).and_then(|a| board.row_of(a));
    let others = (0..rows.len()).filter(|ix| Some(*ix) != told);
    let order = chosen.into_iter().chain(others).chain(told);
    let (tall, begins) = table::unfolded_within(&columns, &rows, area.width, room, order);
    let chosen = chosen.and_then(|ix| begins.get(ix).copied());
    table::draw(buf, list, &columns, &tall, chosen, heading, look);
    let (style, e) = (look.style(Role::Strong), look.glyphs.ellipsis);
    for (part, y) in whole.iter().take(below.into()).zip(area.height - below..area.height) {
        text::put(buf, text::row(area, y), &format!("  {part}"), style, e);
    }
}

/// The text of the chosen row, else of the first one, if the list cuts it: for where the list has no room for it.
fn whole_text(
    board: &Board,
    rows: &[Vec<Cell>],
    columns: &[Column<'_>],
    chosen: Option<usize>,
    width: u16,
) -> Vec<String> {
    let first = || board.first_alarm().is_none_or(|a| !a.active).then_some(0);
    let cut = |row: &usize| table::cuts(columns, rows, *row, width);
    let Some(row) = chosen.or_else(first).filter(cut) else { return Vec::new() };
    let said = board.wrongs().nth(row).map_or("", Wrong::text);
    text::wrap(said, width.saturating_sub(4))
}
