//! The live screen: call, alarm strip, panes, key line. Chooses what stands where for the size at hand.

use std::borrow::Cow;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::line::Extent;
use super::{Look, alarms, call, choosing, line, log, queue, rail, timeline};
use crate::tui::action::Action;
use crate::tui::app::{App, Pane, Post};
use crate::tui::dialog::Dialog;
use crate::tui::keymap::{Context, bindings};
use crate::tui::theme::Role;
use crate::tui::widgets::text;
use crate::view::Board;

/// From this size on, all panes are seen together.
const WIDE: (u16, u16) = (118, 38);

/// From this size on, the line has one column and the rest stands beside it.
const VERY_WIDE: (u16, u16) = (176, 50);

/// Paints the screen and says how many rows at the top a dialog must leave in sight.
pub(super) fn draw(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) -> u16 {
    header(buf, text::row(area, 0), board, app, look);
    let last = area.height - 1;
    key_line(buf, text::row(area, last), app, look);
    let body = Rect { y: area.y + 1, height: area.height - 2, ..area };
    let (body, time) = split_down(body, body.height - timeline::rows(app));
    timeline::draw(buf, time, board, app, look);
    let alarm = board.first_alarm().is_some_and(|a| a.active);
    let leave = if app.dialog.is_some() && alarm { call::LEAVE_BOTH } else { call::LEAVE };
    let used = match &app.choosing {
        Some(moves) => choosing::draw(buf, body, moves, look),
        None => call::draw(buf, body, leave, board, look),
    };
    let below = Rect { y: body.y + used, height: body.height - used, ..body };
    let strip = alarms::strip(buf, below, board, app, look);
    let panes = Rect { y: below.y + strip, height: below.height - strip, ..below };
    if area.width >= VERY_WIDE.0 && area.height >= VERY_WIDE.1 {
        very_wide(buf, panes, board, app, look);
    } else if area.width >= WIDE.0 && area.height >= WIDE.1 {
        wide(buf, panes, board, app, look);
    } else {
        tabs(buf, text::row(panes, 0), board, app, look);
        let inner = Rect { y: panes.y + 1, height: panes.height.saturating_sub(1), ..panes };
        pane(buf, inner, app.pane, Extent::Busy, board, app, look);
    }
    1 + used + strip
}

pub(super) fn header(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    let (lefts, rights) = (whose(board, app), counted(board));
    let fits = |(left, right): &(usize, usize)| {
        text::width(&lefts[*left]) + text::width(&rights[*right]) < area.width
    };
    // What practice it is gives way last: nobody may take it for the line.
    let pairs = (0..lefts.len()).flat_map(|left| (0..rights.len()).map(move |right| (left, right)));
    let (left, right) = pairs.clone().find(fits).or(pairs.last()).unwrap_or_default();
    let w = text::put_right(buf, area, &rights[right], look.style(Role::Strong), e);
    let room = Rect { width: area.width.saturating_sub(w + 1), ..area };
    text::put(buf, room, &lefts[left], look.style(Role::Strong), e);
}

/// Whose screen it is and of what, the longest first.
fn whose(board: &Board, app: &App) -> Vec<String> {
    let line = &board.line_name;
    let post = match app.post {
        _ if app.tape.is_some() => "   REPLAY",
        Post::Operator => "",
        Post::Supervisor => "   supervisor",
        Post::Watch => "   WATCHING ONLY",
    };
    if !app.practice {
        return vec![format!(" {line}{post}")];
    }
    let speed = if (app.speed - 1.0).abs() < 1e-9 { String::new() } else { format!("  x{}", app.speed) };
    let crew = app.practising.crew_words();
    let tail = format!("{speed}{crew}{post}");
    let Some(brief) = &app.practising.brief else {
        return vec![format!(" {line}   PRACTICE{tail}"), format!(" PRACTICE{tail}")];
    };
    let (title, name) = (&brief.title, &brief.name);
    vec![
        format!(" {line}   PRACTICE: {title}{tail}"),
        format!(" PRACTICE: {title}{tail}"),
        format!(" PRACTICE: {name}{tail}"),
        format!(" PRACTICE {name}{}", tail.replace("  ", " ")),
    ]
}

/// How many carriers are where, and the time; the longest first.
fn counted(board: &Board) -> Vec<String> {
    let c = board.counts;
    let counted = |n: usize, word: &str| if n > 0 { format!("  {n} {word}") } else { String::new() };
    let missing = usize::try_from(board.missing()).unwrap_or(0);
    let off = counted(c.off_line, "off") + &counted(c.cancelled, "cancelled") + &counted(missing, "MISSING");
    let (on, waiting, done, clock) = (c.on_line, c.queued, c.finished, &board.clock);
    vec![
        format!("{on} on line  {waiting} waiting  {done} finished{off}    {clock} "),
        format!("{on} on {waiting} wait {done} out{off}  {clock} "),
    ]
}

/// Keys that matter here, or the program's answer.
pub(super) fn key_line(buf: &mut Buffer, area: Rect, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    if let Some(message) = &app.message {
        let role = if message.tone.is_bad() { Role::Soon } else { Role::Answer };
        let mark = message.tone.mark();
        buf.set_style(area.intersection(buf.area), look.style(role));
        let mut parts = message.parts(area.width);
        let part = parts.swap_remove(message.part.min(parts.len() - 1));
        text::put(buf, area, &format!(" {mark}  {part}"), look.style(role), e);
        return;
    }
    let mut x = area.x + 1;
    for (key, brief) in keys_that_fit(app, area.width) {
        if x >= area.right() {
            break;
        }
        let at = Rect { x, width: area.right() - x, ..area };
        let brief = format!(" {brief}");
        x +=
            text::put_all(buf, at, &[(&*key, look.style(Role::Strong)), (&brief, look.style(Role::Text))], e)
                + 2;
    }
}

/// Cells a key takes on the key line.
fn key_cells((key, brief): &(Cow<'static, str>, &'static str)) -> u16 {
    text::width(key) + text::width(brief) + 3
}

/// The keys there is room for: the last ones go first, but never the one that tells of the others and the way out.
fn keys_that_fit(app: &App, width: u16) -> Vec<(Cow<'static, str>, &'static str)> {
    let stays = |brief: &str| matches!(brief, "keys" | "quit");
    let mut all: Vec<_> = keys(app).collect();
    while all.iter().map(key_cells).sum::<u16>() > width {
        let Some(last) = all.iter().rposition(|(_, brief)| !stays(brief)) else { break };
        all.remove(last);
    }
    all
}

/// The keys that matter now and what they do, in a word or two.
pub(super) fn keys(app: &App) -> impl Iterator<Item = (Cow<'static, str>, &'static str)> {
    let context = match app.context() {
        Context::Live | Context::Board | Context::Times if app.tape.is_some() => Context::Replay,
        context => context,
    };
    let moves = app.choosing.as_ref().map_or(0, |c| c.rows.len());
    let (over, on_a_screen) = (app.practising.over, app.dialog.is_none());
    let other = matches!(&app.dialog, Some(Dialog::Amount(amount)) if amount.other.is_some());
    let (offers_crew, watches) = (app.practising.offers_crew(), app.post == Post::Watch);
    let (operates, proposes) = (app.post == Post::Operator, !app.changes.stack.is_empty());
    bindings(context)
        .filter(|b| !b.brief.is_empty())
        .filter(move |b| !(over && on_a_screen && b.action.speaks()))
        .filter(move |b| match (context, b.action) {
            (Context::Amount, Action::Next) => other,
            (Context::Caution, Action::Crew) => offers_crew,
            (Context::Board | Context::Times, Action::Propose) if operates => false,
            (Context::Changes, Action::Confirm | Action::Erase) => proposes,
            (Context::Live, Action::Confirm) if !app.calls => false,
            (Context::Live, action) if app.practising.crewed && action.moves() => false,
            (Context::Live | Context::Board | Context::Times, action) => !(watches && action.speaks()),
            _ => true,
        })
        .map(move |b| match (context, b.action) {
            (Context::Choose, Action::Type(_)) => (digits(moves), b.brief),
            _ => (Cow::Borrowed(b.shown.split(", ").next().unwrap_or(b.shown)), b.brief),
        })
}

/// The digits that choose one of so many moves.
fn digits(moves: usize) -> Cow<'static, str> {
    match moves {
        0 | 1 => "1".into(),
        2 => "1 or 2".into(),
        n => format!("1 to {n}").into(),
    }
}

fn tabs(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let e = look.glyphs.ellipsis;
    rule(buf, area, look);
    let mut x = area.x + 1;
    for (ix, p) in Pane::ALL.into_iter().enumerate() {
        let role = if p == app.pane { Role::Chosen } else { Role::Text };
        let title = format!(" {} {} ", ix + 1, title(p, board));
        let at = Rect { x, width: area.right().saturating_sub(x), ..area };
        text::blank(buf, Rect { width: text::width(&title).min(at.width), ..at }, Style::new());
        x += text::put(buf, at, &title, look.style(role), e) + 1;
    }
    let more = " 5 to 0 more ";
    let at = Rect { x, width: area.right().saturating_sub(x + 1), ..area };
    if at.width >= text::width(more) {
        text::put_right(buf, at, more, look.style(Role::Text), e);
    }
}

fn title(pane: Pane, board: &Board) -> String {
    match pane {
        Pane::Alarms => {
            let (past, broken) = (board.gone_alarms(), board.breaches.len());
            let past = if past > 0 { format!(" past {past}") } else { String::new() };
            // By plan: what is broken for good is on the pages.
            let broken = if broken > 0 { format!(" breaks {broken}") } else { String::new() };
            let aside = board.alarms_aside();
            let aside = if aside > 0 { format!(" aside {aside}") } else { String::new() };
            format!("Alarms {}{aside}{past}{broken}", board.standing_alarms())
        }
        Pane::Queue => format!("Next, queue {}", board.queue.len()),
        other => other.title().to_owned(),
    }
}

fn pane(buf: &mut Buffer, area: Rect, pane: Pane, extent: Extent, board: &Board, app: &App, look: &Look) {
    let chosen = app.row(pane);
    match pane {
        Pane::Line => line::draw(buf, area, board, extent, chosen, look),
        Pane::Alarms => alarms::draw(buf, area, board, chosen, look),
        Pane::Queue => queue::draw(buf, area, board, chosen, look),
        Pane::Log => log::draw(buf, area, board, chosen, look),
    }
}

/// Paints the rail under a rule, if it fits whole, and gives back what is left below it.
fn under_rail(buf: &mut Buffer, area: Rect, board: &Board, look: &Look) -> Rect {
    if !rail::fits(board, area.width) {
        return area;
    }
    let (top, below) = split_down(area, rail::HEIGHT + 1);
    rule(buf, text::row(top, 0), look);
    rail::draw(buf, Rect { y: top.y + 1, height: top.height - 1, ..top }, board, look);
    below
}

/// What is on the line, alarms over the whole width, the rest side by side below.
fn wide(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    /// Least rows for the two panes at the bottom, their heading included.
    const BOTTOM: u16 = 7;
    let area = under_rail(buf, area, board, look);
    // The strip above says that there is nothing; the heading alone would only take a row.
    let count = u16::try_from(Pane::Alarms.rows(board)).unwrap_or(u16::MAX);
    let whole = u16::try_from(alarms::height(board, area.width)).unwrap_or(u16::MAX);
    // What presses comes before tanks that are free, and what was chosen has room.
    let (want, least) = match (count, app.pane) {
        (_, Pane::Alarms) => ((whole + 1).min(area.height / 2), (whole + 1).min(area.height / 2)),
        (0, _) => (0, 0),
        _ => ((count + 1).min(6), (count + 1).min(4)),
    };
    let rows = match app.pane {
        Pane::Queue | Pane::Log => line::busy_height(board).min(area.height / 3),
        _ if app.row(Pane::Line).is_some() => area.height / 2,
        _ => line::busy_height(board),
    };
    let (top, rest) = split_down(area, (rows + 1).min(area.height.saturating_sub(BOTTOM + least)));
    let inner = headed(buf, top, Pane::Line, board, app, look);
    pane(buf, inner, Pane::Line, Extent::Busy, board, app, look);
    let (alarms, bottom) = split_down(rest, want.min(rest.height.saturating_sub(BOTTOM)));
    let (left, right) =
        split_across(bottom, queue::cells(board, look).clamp(bottom.width * 3 / 5, bottom.width * 2 / 3));
    for (area, p) in [(alarms, Pane::Alarms), (left, Pane::Queue), (right, Pane::Log)] {
        if area.height > 0 {
            let inner = headed(buf, area, p, board, app, look);
            pane(buf, inner, p, Extent::All, board, app, look);
        }
    }
}

/// The rail across, then the line in one column on the left, the rest stacked on the right.
fn very_wide(buf: &mut Buffer, area: Rect, board: &Board, app: &App, look: &Look) {
    let area = under_rail(buf, area, board, look);
    let (left, right) = split_across(area, area.width / 2);
    let inner = headed(buf, left, Pane::Line, board, app, look);
    pane(buf, inner, Pane::Line, Extent::All, board, app, look);
    let want = u16::try_from(alarms::height(board, right.width)).unwrap_or(u16::MAX).saturating_add(1).max(2);
    let (up, rest) = split_down(right, want.min(right.height / 3));
    let want = u16::try_from(Pane::Queue.rows(board)).unwrap_or(u16::MAX).saturating_add(3);
    let (middle, down) = split_down(rest, want.min(rest.height * 3 / 5).max(4));
    for (area, p) in [(up, Pane::Alarms), (middle, Pane::Queue), (down, Pane::Log)] {
        let inner = headed(buf, area, p, board, app, look);
        pane(buf, inner, p, Extent::All, board, app, look);
    }
}

/// Paints a pane's heading and gives back what is left for the pane.
fn headed(buf: &mut Buffer, area: Rect, pane: Pane, board: &Board, app: &App, look: &Look) -> Rect {
    let line = text::row(area, 0);
    rule(buf, line, look);
    let role = if pane == app.pane { Role::Chosen } else { Role::Strong };
    let title = format!(" {} {} ", pane as usize + 1, title(pane, board));
    let at = Rect { x: line.x + 1, width: line.width.saturating_sub(1), ..line };
    text::blank(buf, Rect { width: text::width(&title).min(at.width), ..at }, Style::new());
    text::put(buf, at, &title, look.style(role), look.glyphs.ellipsis);
    Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area }
}

pub(super) fn rule(buf: &mut Buffer, area: Rect, look: &Look) {
    let area = area.intersection(buf.area);
    for x in area.left()..area.right() {
        if area.height > 0 {
            buf[(x, area.y)].set_char(look.glyphs.rule).set_style(look.style(Role::Quiet));
        }
    }
}

pub(super) fn split_down(area: Rect, first: u16) -> (Rect, Rect) {
    let first = first.min(area.height);
    (Rect { height: first, ..area }, Rect { y: area.y + first, height: area.height - first, ..area })
}

/// Two areas side by side with a free column between.
pub(super) fn split_across(area: Rect, first: u16) -> (Rect, Rect) {
    let first = first.min(area.width);
    let skip = (first + 1).min(area.width);
    (Rect { width: first, ..area }, Rect { x: area.x + skip, width: area.width - skip, ..area })
}
