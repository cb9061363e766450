//! Keeps the preview that is shown in step with what is proposed and with what has happened since.

use std::sync::Arc;

use super::{Asked, Changes, Outlook};
use crate::live::{LiveShift, Previewed};
use crate::shift::Command;
use crate::tui::app::App;
use crate::units::Dur;
use crate::view::Preview;

/// A preview is made anew once it is this old: the line goes on.
const OLD: Dur = Dur::from_mins(1);

/// Asks for a preview where one is needed and takes what has come. Blocks on nothing; called between keys.
pub fn keep_preview(app: &mut App, shift: &mut LiveShift) {
    let now = shift.now();
    let seen = shift.last_fact();
    if app.changes.stack.is_empty() {
        if app.changes.asked.take().is_some() {
            shift.drop_preview();
            app.changes.outlook = Outlook::Nothing;
        }
        return;
    }
    let old = Dur::from_secs_f64(OLD.as_secs_f64() * app.speed.max(1.0));
    let asked = app.changes.asked.filter(|a| a.version == app.changes.version);
    let outdated = match asked {
        None => true,
        Some(a) if a.seen != seen => {
            let words = "The shift has moved on; before and after are worked out anew.";
            app.tell(words, false, now);
            app.changes.outlook = Outlook::Working;
            true
        }
        Some(a) => !shift.is_previewing() && now - a.at > old,
    };
    if outdated {
        let commands: Vec<Command> = app.changes.stack.iter().map(|p| p.command.clone()).collect();
        app.changes.asked = Some(Asked { version: app.changes.version, seen, at: now });
        if !shift.begin_preview(commands) {
            app.changes.outlook = Outlook::Failed;
        }
        return;
    }
    let was_previewing = shift.is_previewing();
    if let Some(made) = shift.take_preview() {
        if made.seen == seen {
            take(&mut app.changes, made, shift);
        }
    } else if was_previewing && !shift.is_previewing() && app.changes.outlook == Outlook::Working {
        app.changes.outlook = Outlook::Failed;
    }
}

fn take(changes: &mut Changes, made: Previewed, shift: &LiveShift) {
    let Previewed { what_if, at, last, .. } = made;
    changes.outlook = match what_if {
        Ok((before, after)) => {
            let preview = Preview::of(shift.line(), &shift.opening(), &before, &after, at);
            Outlook::Ready { preview: Arc::new(preview), at, last }
        }
        Err((which, refusal)) => Outlook::Refused { which, why: refusal.to_string() },
    };
}
