//! `report`: pages about a shift, read off its journal.

use super::args::{Form, PageKind, Report};
use super::kept::Kept;
use super::{Bad, Outcome, say, say_json};
use crate::report::{self, Source};
use crate::train::{Debrief, Effort, Learned, rivals};

pub fn report(args: &Report) -> Result<Outcome, Bad> {
    let kept = Kept::read(&args.shift, args.at)?;
    let source = Source {
        line: &kept.line,
        history: &kept.history,
        board: &kept.board,
        opening: &kept.opening,
        now: kept.now,
    };
    if args.form == Form::Svg {
        return say(&report::svg(&source));
    }
    let page = match (&args.carrier, args.page) {
        (Some(name), _) => {
            let carriers = &kept.history.state().book.carriers;
            let Some((id, _)) = carriers.iter().find(|(_, c)| c.name == *name) else {
                return Err(Bad(format!("{name} is no carrier of this shift")));
            };
            report::record(&source, id)
        }
        (None, PageKind::Shift) => report::shift(&source),
        (None, PageKind::Start) => report::start(&source),
        (None, PageKind::Handover) => report::handover(&source),
        (None, PageKind::Pace) => report::pace(&source, &Learned::of(&kept.line, &kept.history)),
        (None, PageKind::Debrief) => report::debrief(&source, &looked_back(&kept)?),
    };
    match args.form {
        Form::Text => say(&page.text()),
        Form::Markdown => say(&page.markdown()),
        Form::Csv => say(&page.csv()),
        Form::Json => say_json(&page.json()),
        Form::Svg => unreachable!("answered above"),
    }
}

/// The debrief with all it can be held against.
fn looked_back(kept: &Kept) -> Result<Debrief, Bad> {
    let mut debrief = Debrief::of(&kept.line, &kept.history, kept.now);
    debrief.rivals = rivals(&kept.line, &debrief.met, kept.now, Effort::default())?;
    Ok(debrief)
}
