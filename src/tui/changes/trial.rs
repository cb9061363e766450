//! Keeps the preview that is shown in step with what is proposed and with what has happened since.
//!
//! While only the line goes on, what is shown stays until a newer preview is there: at the speed of a practice it would
//! never be read otherwise. What somebody else has changed takes it off the screen at once.

use std::sync::Arc;

use super::{Asked, Changes, Outlook};
use crate::live::{Known, LiveShift, Previewed};
use crate::shift::Command;
use crate::tui::app::App;
use crate::units::Dur;
use crate::view::Preview;

/// A preview is made anew once it is this old: the line goes on.
const OLD: Dur = Dur::from_mins(1);

/// Asks for a preview where one is needed and takes what has come. Blocks on nothing; called between keys.
pub fn keep_preview(app: &mut App, shift: &mut LiveShift) {
    if app.changes.stack.is_empty() {
        if app.changes.asked.take().is_some() {
            shift.drop_preview();
            app.changes.outlook = Outlook::Nothing;
        }
        return;
    }
    let Some(asked) = app.changes.asked.filter(|a| a.version == app.changes.version) else {
        return ask(app, shift, None);
    };
    let now = shift.now();
    if !shift.only_went_on_since(asked.seen) {
        app.note("The shift has moved on; before and after are worked out anew.", now);
        app.changes.outlook = Outlook::Working;
        return ask(app, shift, None);
    }
    let was_previewing = shift.is_previewing();
    if let Some(made) = shift.take_preview() {
        take(&mut app.changes, made, shift);
    } else if was_previewing && !shift.is_previewing() && app.changes.outlook == Outlook::Working {
        app.changes.outlook = Outlook::Failed;
    }
    let old = Dur::from_secs_f64(OLD.as_secs_f64() * app.speed.max(1.0));
    if !shift.is_previewing() && (asked.seen != shift.last_fact() || now - asked.at > old) {
        let known = app.changes.known().cloned();
        ask(app, shift, known);
    }
}

fn ask(app: &mut App, shift: &mut LiveShift, earlier: Option<Arc<Known>>) {
    let commands: Vec<Command> = app.changes.stack.iter().map(|p| p.command.clone()).collect();
    let (seen, at) = (shift.last_fact(), shift.now());
    app.changes.asked = Some(Asked { version: app.changes.version, seen, at });
    if !shift.begin_preview(commands, earlier) {
        app.changes.outlook = Outlook::Failed;
    }
}

fn take(changes: &mut Changes, made: Previewed, shift: &LiveShift) {
    changes.outlook = match made.what_if {
        Ok(known) => {
            let (before, after) = (&known.weighed.before, &known.weighed.after);
            let preview = Preview::of(shift.line(), &shift.opening(), before, after, known.at);
            Outlook::Ready { preview: Arc::new(preview), known, last: made.last }
        }
        Err((which, refusal)) => {
            let why = refusal.told(|t| shift.opening().clock(t)).to_string();
            Outlook::Refused { which, why }
        }
    };
}
