//! The call, read from three metres.
//!
//! ```text
//! step 5 of 14, rinse   CRITICAL                        start within
//! P I C K   B 0 7                                       0 0 : 3 8
//! T 0 6 > T 0 7
//! PICK B07 from T06 etch to T07 rinse          by 03:12:10, slack 0:38
//! Etch closes in 0:38; taking B09 first would overrun it by 11 s.
//! then 03:13:15 PICK B06 T12>T19, 03:14:20 PICK B08 T10>T15
//! ```

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Look, dialogs};
use crate::tui::theme::Role;
use crate::tui::widgets::big::{self, Size};
use crate::tui::widgets::{countdown, text};
use crate::view::{Board, Count, MainCall, Urgency};

/// Rows that are left for the rest of the screen, whatever the call would like.
pub(super) const LEAVE: u16 = 8;

/// The same while a dialog is open and an alarm stands: neither covers the other. The call's own rows around its letters
/// are one more than are kept free for them, and the alarm takes one.
pub(super) const LEAVE_BOTH: u16 = dialogs::LEAST + 2;

/// Paints the call at the top of the area, the last `leave` rows left free, and says how many rows it took.
pub(super) fn draw(buf: &mut Buffer, area: Rect, leave: u16, board: &Board, look: &Look) -> u16 {
    match &board.call {
        Some(call) => draw_call(buf, area, leave, call, board, look),
        None => draw_rest(buf, area, board, look),
    }
}

fn draw_call(buf: &mut Buffer, area: Rect, leave: u16, call: &MainCall, board: &Board, look: &Look) -> u16 {
    let e = look.glyphs.ellipsis;
    let inner = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area };
    let figures = countdown::big(call.count);
    let role = countdown::role(call.urgency);

    let caption = caption_of(call);
    let w = text::put_right(buf, text::row(inner, 0), &caption, look.style(role), e);
    let room = Rect { width: inner.width.saturating_sub(w + 2), ..inner };
    let mut pieces = Vec::new();
    let marks = marks(call);
    if let Some((mark, role)) = &marks {
        pieces.push((mark.as_str(), look.style(*role)));
        pieces.push(("  ", look.style(Role::Text)));
    }
    pieces.push((call.step.as_str(), look.style(Role::Text)));
    text::put_all(buf, text::row(room, 0), &pieces, e);

    let space = Rect { y: inner.y + 1, height: area.height.saturating_sub(leave + 3), ..inner };
    let height = letters(buf, space, call, &figures, role, look).unwrap_or_else(|| {
        text::put_right(buf, text::row(space, 0), &figures, look.style(role), e);
        1
    });
    let mut y = 1 + height;
    let plain = call.plain();
    // The sentence comes first; what stands beside it gives way.
    let beside = |by: &String| text::width(&plain) + 2 + text::width(by) <= inner.width;
    if let Some(by) = by_words(call).into_iter().find(beside) {
        text::put_right(buf, text::row(inner, y), &by, look.style(Role::Text), e);
    }
    text::put(buf, text::row(inner, y), &plain, look.style(Role::Strong), e);
    y += 1;
    text::put(buf, text::row(inner, y), &call.reason, look.style(Role::Text), e);
    then(buf, text::row(inner, y + 1), board, look);
    y + 2
}

/// What comes after, as many moves as fit whole; the row stays where there are none, so that nothing jumps.
fn then(buf: &mut Buffer, row: Rect, board: &Board, look: &Look) {
    let arrow = look.glyphs.arrow;
    let mut line = String::new();
    for next in &board.next {
        let lead = if line.is_empty() { "then" } else { "," };
        let (verb, load) = (next.who_does_what(), &next.carrier);
        let (from, to) = (&next.from.name, &next.to.name);
        let more = format!("{lead} {} {verb} {load} {from}{arrow}{to}", next.at);
        if text::width(&line) + text::width(&more) > row.width {
            break;
        }
        line.push_str(&more);
    }
    text::put(buf, row, &line, look.style(Role::Text), look.glyphs.ellipsis);
}

/// Paints the big letters; `None` if no size fits.
fn letters(
    buf: &mut Buffer,
    space: Rect,
    call: &MainCall,
    figures: &str,
    role: Role,
    look: &Look,
) -> Option<u16> {
    let lower = match call.verb {
        crate::view::Verb::Place => format!("IN {}", call.to.name),
        _ => format!("{}>{}", call.from.name, call.to.name),
    };
    let verbs = if call.wait { ["WAIT", "WAIT"] } else { [call.verb.word(), call.verb.short()] };
    let (upper, plan) = verbs.into_iter().find_map(|verb| {
        let upper = format!("{verb} {}", call.carrier);
        big::plan(space, &upper, &lower, figures, look.glyphs.set).map(|p| (upper, p))
    })?;
    let style = look.style(Role::Strong);
    if plan.rows == 1 {
        big::draw(buf, space, &format!("{upper} {lower}"), plan.words, style, look);
    } else {
        big::draw(buf, space, &upper, plan.words, style, look);
        let down = plan.height - plan.words.height();
        let second = Rect { y: space.y + down, height: space.height.saturating_sub(down), ..space };
        big::draw(buf, second, &lower, plan.words, style, look);
    }
    let w = plan.figures.width(figures);
    let height = plan.figures.height().min(space.height);
    // Strokes without an edge drown in a field: the caption above them has it alone.
    let bare = matches!(plan.figures, Size::Block | Size::Double);
    let at = Rect { x: space.right() - w, y: space.y + plan.figures_y, width: w, height };
    let role = if bare { Role::Strong } else { role };
    let ink = look.style(role);
    if role != Role::Strong {
        text::blank(buf, Rect { x: at.x.saturating_sub(1), width: at.width + 2, ..at }, ink);
    }
    big::draw(buf, at, figures, plan.figures, ink, look);
    Some(plan.height)
}

fn caption_of(call: &MainCall) -> String {
    match call.urgency {
        Urgency::Calm => call.caption().to_owned(),
        Urgency::Soon => format!(" SOON: {} ", call.caption()),
        Urgency::Over => format!(" {} ", call.caption()),
    }
}

/// What must be seen besides verb and figures: air time while hanging, or that the move must not stop.
fn marks(call: &MainCall) -> Option<(String, Role)> {
    if let Some(air) = call.air {
        let Some(max) = air.max else { return Some((format!("in air {}", air.so_far), Role::Text)) };
        let role = if air.so_far > max { Role::Over } else { Role::Strong };
        return Some((format!("IN AIR {} of {max} ({})", air.so_far, air.harm.word()), role));
    }
    match call.air_max {
        Some(max) if call.critical => Some((format!("NO STOP: {max} of air at most"), Role::Strong)),
        _ if call.critical => Some(("NO STOP on the way".to_owned(), Role::Strong)),
        _ => None,
    }
}

/// When, in words: with the slack, and without it where there is no room.
fn by_words(call: &MainCall) -> Vec<String> {
    let Some(t) = &call.by else { return Vec::new() };
    match (call.count, call.slack) {
        (Count::In(_), Some(slack)) => vec![format!("at {t}, then {slack} to spare"), format!("at {t}")],
        (Count::In(_), None) => vec![format!("at {t}")],
        (Count::Over(_), _) => vec![format!("was {t}")],
        _ => vec![format!("by {t}")],
    }
}

fn draw_rest(buf: &mut Buffer, area: Rect, board: &Board, look: &Look) -> u16 {
    let e = look.glyphs.ellipsis;
    let inner = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area };
    let space = Rect { y: inner.y + 1, height: area.height.saturating_sub(LEAVE + 3), ..inner };
    let [head, more] = &board.rest_head;
    let plan = big::plan(space, head, more, "", look.glyphs.set);
    let height = plan.map_or(1, |plan| {
        let style = look.style(Role::Strong);
        if plan.rows == 1 || more.is_empty() {
            big::draw(buf, space, format!("{head} {more}").trim_end(), plan.words, style, look);
            return plan.words.height();
        }
        big::draw(buf, space, head, plan.words, style, look);
        let down = plan.height - plan.words.height();
        let below = Rect { y: space.y + down, height: space.height.saturating_sub(down), ..space };
        big::draw(buf, below, more, plan.words, style, look);
        plan.height
    });
    let lines = text::wrap(&board.rest, inner.width);
    // A longer text has no rows to spare.
    let gap = u16::from(lines.len() <= 1);
    for (y, line) in (height + 1 + gap..).zip(lines.iter().take(3)) {
        text::put(buf, text::row(inner, y), line, look.style(Role::Strong), e);
    }
    height + 1 + 2 * gap + u16::try_from(lines.len().clamp(1, 3)).unwrap_or(1)
}
