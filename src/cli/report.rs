//! `report`: pages about a shift, read off its journal.

use super::args::{Form, PageKind, Report};
use super::kept::Kept;
use super::{Bad, Outcome, say, say_json};
use crate::report::{self, Page, Source};

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
        (None, PageKind::Handover) => handover(&source, &kept),
    };
    match args.form {
        Form::Text => say(&page.text()),
        Form::Markdown => say(&page.markdown()),
        Form::Csv => say(&page.csv()),
        Form::Json => say_json(&page.json()),
        Form::Svg => unreachable!("answered above"),
    }
}

/// With the hash that `verify --expect` asks for: on paper nobody can change it.
fn handover(source: &Source<'_>, kept: &Kept) -> Page {
    let mut page = report::handover(source);
    page.lead.push(format!("journal: {} entries, hash of the last {}", kept.entries, kept.hash));
    page
}
