//! Changes: what is proposed, what it would do, and what stands.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::Look;
use super::live::{rule, split_across, split_down};
use crate::line::Harm;
use crate::tui::app::App;
use crate::tui::changes::{Changes, Outlook, Part};
use crate::tui::theme::Role;
use crate::tui::widgets::table::{self, Cell, Column, Kind};
use crate::tui::widgets::{countdown, text};
use crate::units::Dur;
use crate::view::{Board, BreachRow, FinishRow, Preview, Turn};

/// From this size on all parts are seen together.
const ALL: (u16, u16) = (118, 38);

/// The most rows of proposals where all parts share a small screen.
const FEW: u16 = 5;

const PROPOSED: &[Column] =
    &[Column { head: "", kind: Kind::Figures, keep: 9 }, Column { head: "", kind: Kind::Words(20), keep: 9 }];

const STANDING: &[Column] = &[
    Column { head: "said", kind: Kind::Whole, keep: 5 },
    Column { head: "by", kind: Kind::Whole, keep: 4 },
    Column { head: "what", kind: Kind::Words(24), keep: 9 },
    Column { head: "why", kind: Kind::Words(10), keep: 7 },
];

pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let rows = u16::try_from(app.changes.stack.len()).unwrap_or(u16::MAX).clamp(1, area.height / 3);
    if buf.area.width >= ALL.0 && buf.area.height >= ALL.1 && app.changes.stack.is_empty() {
        // There is no before and after: what stands has the room.
        let (up, down) = split_down(area, rows + 2);
        for (part, area) in [(Part::Proposed, up), (Part::Standing, down)] {
            heading(buf, area, &[part], board, app, look);
            body(buf, area, part, board, app, look);
        }
        return;
    }
    if buf.area.width >= ALL.0 && buf.area.height >= ALL.1 {
        let (left, right) = split_across(area, area.width * 2 / 5);
        let (up, down) = split_down(left, (rows + 3).max(left.height / 3));
        for (part, area) in [(Part::Proposed, up), (Part::Standing, down), (Part::Effects, right)] {
            heading(buf, area, &[part], board, app, look);
            body(buf, area, part, board, app, look);
        }
        return;
    }
    let (up, down) = split_down(area, rows.min(FEW) + 1);
    heading(buf, up, &[Part::Proposed], board, app, look);
    body(buf, up, Part::Proposed, board, app, look);
    heading(buf, down, &[Part::Effects, Part::Standing], board, app, look);
    let below = if lower(&app.changes) == Part::Standing { Part::Standing } else { Part::Effects };
    body(buf, down, below, board, app, look);
}

/// The part below the proposals where there is room for one: with nothing proposed, what stands.
fn lower(changes: &Changes) -> Part {
    match changes.part {
        Part::Proposed if changes.stack.is_empty() => Part::Standing,
        Part::Proposed => Part::Effects,
        part => part,
    }
}

fn heading(buf: &mut Buffer, area: Rect, parts: &[Part], board: &Board, app: &App, look: &Look) {
    let line = text::row(area, 0);
    rule(buf, line, look);
    let mut x = line.x + 1;
    for part in parts {
        let focus = *part == app.changes.part;
        let title = match part {
            Part::Proposed => format!(" Proposed {} ", app.changes.stack.len()),
            Part::Effects => format!(" Before and after{} ", progress(&app.changes.outlook, board)),
            Part::Standing => format!(" Changes that stand {} ", board.changes.len()),
        };
        let at = Rect { x, width: line.right().saturating_sub(x), ..line };
        text::blank(buf, Rect { width: text::width(&title).min(at.width), ..at }, Style::new());
        let role = if focus { Role::Chosen } else { Role::Strong };
        x += text::put(buf, at, &title, look.style(role), look.glyphs.ellipsis) + 1;
    }
}

fn progress(outlook: &Outlook, board: &Board) -> String {
    match outlook {
        Outlook::Nothing | Outlook::Refused { .. } | Outlook::Failed => String::new(),
        Outlook::Working => ": being worked out".to_owned(),
        Outlook::Ready { known, last, .. } => {
            let better = if *last { "" } else { ", being made better" };
            format!(" from {}{better}", board.clock_at(known.at))
        }
    }
}

fn body(buf: &mut Buffer, area: Rect, part: Part, board: &Board, app: &App, look: &Look) {
    let (_, area) = split_down(area, 1);
    let changes = &app.changes;
    let chosen = (part == changes.part).then_some(changes.rows[part as usize]);
    let say = |buf: &mut Buffer, words: &str| {
        text::put(buf, text::row(area, 0), words, look.style(Role::Text), look.glyphs.ellipsis);
    };
    match part {
        Part::Proposed if changes.stack.is_empty() => say(buf, "  nothing; w: propose a change"),
        Part::Proposed => table::draw(buf, area, PROPOSED, &proposed(changes), chosen, false, look),
        Part::Standing if board.changes.is_empty() => {
            say(buf, "  none; the shift runs as its files say");
        }
        Part::Standing => table::draw(buf, area, STANDING, &standing(board), chosen, true, look),
        Part::Effects => effects(buf, area, changes, look),
    }
}

fn proposed(changes: &Changes) -> Vec<Vec<Cell>> {
    let refused = match &changes.outlook {
        Outlook::Refused { which, .. } => Some(*which),
        _ => None,
    };
    let row = |(n, p): (usize, &crate::tui::changes::Proposal)| {
        let no = refused == Some(n);
        let words = if no { format!("NO  {}", p.words) } else { p.words.clone() };
        vec![Cell::plain(format!("{}", n + 1)), Cell::of(words, if no { Role::Soon } else { Role::Strong })]
    };
    changes.stack.iter().enumerate().map(row).collect()
}

fn standing(board: &Board) -> Vec<Vec<Cell>> {
    let row = |c: &crate::view::ChangeRow| {
        vec![
            Cell::plain(c.at.as_str()),
            Cell::plain(c.who),
            Cell::of(c.what.as_str(), Role::Strong),
            Cell::plain(c.why.as_str()),
        ]
    };
    board.changes.iter().map(row).collect()
}

/// One line of before and after.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// A sentence, wrapped, with its role.
    Words(String, Role),
    /// What, before, after, and what that means.
    Figures([String; 4], Role),
}

fn words(text: impl Into<String>, role: Role) -> Line {
    Line::Words(text.into(), role)
}

fn figures(what: impl Into<String>, before: &str, after: &str, note: impl Into<String>, role: Role) -> Line {
    Line::Figures([what.into(), before.to_owned(), after.to_owned(), note.into()], role)
}

/// Before and after, line by line.
pub fn effect_lines(changes: &Changes) -> Vec<Line> {
    match &changes.outlook {
        Outlook::Nothing => vec![words("nothing is proposed", Role::Text)],
        Outlook::Working => vec![words("before and after are being worked out ...", Role::Text)],
        Outlook::Failed => vec![words("FAULT: before and after could not be worked out", Role::Soon)],
        Outlook::Refused { which, why } => {
            vec![words(format!(" It cannot be done. Number {}: {why} ", which + 1), Role::Soon)]
        }
        Outlook::Ready { preview, last, .. } => ready(preview, *last),
    }
}

/// The first answer comes at once and is rough in what it costs; what is better follows.
fn ready(preview: &Preview, last: bool) -> Vec<Line> {
    let loud = |harm: Option<Harm>| match harm {
        Some(Harm::Scrap) => Role::Over,
        Some(Harm::Rework | Harm::Shade) => Role::Soon,
        _ => Role::Strong,
    };
    let role = if preview.worst.is_none() { Role::Strong } else { loud(preview.worst) };
    let idle = if preview.is_idle() { " Nothing else differs." } else { "" };
    let mut lines = vec![words(format!(" {}{idle} ", preview.verdict), role)];
    match &preview.call {
        (before, None) => lines.push(words(format!("Next call stays: {before}"), Role::Text)),
        (before, Some(after)) => {
            lines.push(words(format!("Next call: {after}"), Role::Strong));
            lines.push(words(format!("  instead of: {before}"), Role::Text));
        }
    }
    if !preview.pays.is_empty() {
        let rough = if last { "" } else { "Roughly so far: " };
        lines.push(words(format!("{rough}{}", preview.pays), Role::Strong));
    }
    lines.extend(preview.guesses.iter().map(|guess| words(guess.clone(), Role::Text)));
    let breach = |word: &str, b: &BreachRow| {
        let harm = b.harm.map_or("no way", Harm::word);
        format!("{word} {} {harm} at {}: {}", b.letter, b.at, b.text)
    };
    lines.extend(preview.breaks.iter().map(|b| words(breach("BREAKS", b), Role::Strong)));
    lines.extend(preview.worse.iter().map(|b| words(breach("worse", b), Role::Strong)));
    lines.extend(preview.keeps.iter().map(|b| words(breach("saves", b), Role::Text)));
    if !preview.finishes.is_empty() {
        lines.push(figures("order, finished at", "before", "after", "", Role::Quiet));
        lines.extend(preview.finishes.iter().map(finish));
    }
    lines.push(figures("worth, first thing first", "before", "after", "", Role::Quiet));
    for part in &preview.parts {
        let role = if part.turn == Turn::Same { Role::Text } else { Role::Strong };
        lines.push(figures(part.what, &part.before, &part.after, part.turn.word(), role));
    }
    lines
}

fn finish(row: &FinishRow) -> Line {
    let minutes = |d: Dur| d.0.abs() / 60_000;
    let shift = match row.shift {
        _ if row.lost => "NO PLAN".to_owned(),
        Some(by) if minutes(by) == 0 => String::new(),
        Some(by) if by > Dur::ZERO => format!("{} min later", minutes(by)),
        Some(by) => format!("{} min earlier", minutes(by)),
        None => String::new(),
    };
    let late = match (&row.due, row.late) {
        // Both figures are what is looked for; when it was due follows from them.
        (Some(_), Some(late)) if !shift.is_empty() => countdown::late(late),
        (Some(due), Some(late)) => format!("{}, due {due}", countdown::late(late)),
        (Some(due), None) => format!("due {due}"),
        (None, _) => String::new(),
    };
    let note = [shift.as_str(), late.as_str()].iter().filter(|t| !t.is_empty()).copied().collect::<Vec<_>>();
    let role = if shift.is_empty() { Role::Text } else { Role::Strong };
    figures(format!("{} {}", row.order, row.label), &row.before, &row.after, note.join("; "), role)
}

fn effects(buf: &mut Buffer, area: Rect, changes: &Changes, look: &Look) {
    let e = look.glyphs.ellipsis;
    let width = area.width.saturating_sub(3);
    let mut rows: Vec<(usize, Line)> = Vec::new();
    for (n, line) in effect_lines(changes).into_iter().enumerate() {
        match line {
            Line::Words(text, role) => {
                let padded = text.starts_with(' ') && role != Role::Text;
                // Room for the padding, and for the indent of what goes on below.
                let whole = !padded && text::width(&text) <= width;
                let cells = if whole { width } else { width.saturating_sub(2) };
                for (k, part) in text::wrap(&text, cells).into_iter().enumerate() {
                    let part = if padded { format!(" {part} ") } else { part };
                    let indent = if k > 0 && !padded { "  " } else { "" };
                    rows.push((n, words(format!("{indent}{part}"), role)));
                }
            }
            line @ Line::Figures(..) => rows.push((n, line)),
        }
    }
    let names = names_room(rows.iter().map(|(_, line)| line), width);
    let room = usize::from(area.height);
    let wanted = changes.rows[Part::Effects as usize];
    let first = rows.iter().position(|(n, _)| *n >= wanted).unwrap_or(0);
    let first = first.min((rows.len() + 1).saturating_sub(room));
    let below = rows.len().saturating_sub(first + room);
    let shown = if below > 0 { room.saturating_sub(1) } else { room };
    for (y, (_, line)) in (0..).zip(rows.iter().skip(first).take(shown)) {
        let at = text::row(Rect { x: area.x + 2, width, ..area }, y);
        match line {
            Line::Words(text, role) => {
                text::put(buf, at, text, look.style(*role), e);
            }
            Line::Figures(cells, role) => draw_figures(buf, at, cells, names, *role, look),
        }
    }
    if below > 0 {
        let more = format!("{} more {}  Tab, Down", rows.len() - first - shown, look.glyphs.down);
        let at = text::row(Rect { x: area.x + 2, width, ..area }, area.height - 1);
        text::put(buf, at, &more, look.style(Role::Strong), e);
    }
}

/// What before and after take, and the space between columns.
const FIGURES: u16 = 8;
const GAP: u16 = 2;

/// Cells for the names before the figures: what the longest takes where the notes leave it free, else a share.
fn names_room<'l>(lines: impl Iterator<Item = &'l Line>, width: u16) -> u16 {
    let (mut longest, mut notes) = (0, 0);
    for line in lines {
        if let Line::Figures([name, _, _, note], _) = line {
            longest = longest.max(text::width(name));
            notes = notes.max(text::width(note));
        }
    }
    let rest = width.saturating_sub(2 * (FIGURES + GAP));
    let free = rest.saturating_sub(GAP + notes);
    free.max(rest * 9 / 20).min(longest).max(12)
}

fn draw_figures(buf: &mut Buffer, area: Rect, cells: &[String; 4], what: u16, role: Role, look: &Look) {
    let e = look.glyphs.ellipsis;
    let [name, before, after, note] = cells;
    text::put(buf, Rect { width: what.min(area.width), ..area }, name, look.style(quiet(role)), e);
    let mut x = area.x + what;
    for figure in [before, after] {
        let cell = Rect { x, width: (FIGURES + GAP).min(area.right().saturating_sub(x)), ..area };
        text::put_right(buf, cell, figure, look.style(role), e);
        x = cell.right();
    }
    let rest = Rect { x: x + GAP, width: area.right().saturating_sub(x + GAP), ..area };
    text::put(buf, rest, note, look.style(role), e);
}

fn quiet(role: Role) -> Role {
    if role == Role::Strong { Role::Text } else { role }
}
