//! `report`: pages about a shift, read off its journal; the trend over several.

use std::io::IsTerminal as _;

use super::args::{Form, PageKind, Report};
use super::kept::Kept;
use super::{Bad, Outcome, columns, say, say_json};
use crate::report::{self, Figures, Page, Source};
use crate::train::{Brief, Debrief, Effort, Learned, rivals};

pub fn report(args: &Report) -> Result<Outcome, Bad> {
    if args.page == PageKind::Trend {
        return trend(args);
    }
    let [shift] = &args.shifts[..] else {
        return Err(Bad("several shifts make a trend: add --page trend".to_owned()));
    };
    let kept = Kept::read(shift, args.at)?;
    let source = source(&kept);
    if args.form == Form::Svg {
        return match args.carrier {
            None if args.page == PageKind::Shift => say(&report::svg(&source)),
            _ => Err(Bad(
                "only the whole shift and the trend are drawn: --form svg without --carrier, with no --page \
                 or --page trend; print a record or another page with --form html"
                    .to_owned(),
            )),
        };
    }
    let mut page = match (&args.carrier, args.page) {
        (Some(name), _) => {
            let carriers = &kept.history.state().book.carriers;
            let Some((id, _)) = carriers.iter().find(|(_, c)| c.name == *name) else {
                return Err(Bad(format!("{name} is no carrier of this shift")));
            };
            sealed(report::record(&source, id), &kept)
        }
        (None, PageKind::Start) => report::start(&source),
        (None, PageKind::Handover) => sealed(report::handover(&source), &kept),
        (None, PageKind::Shift | PageKind::Trend) => sealed(report::shift(&source), &kept),
        (None, PageKind::Pace) => report::pace(&source, &Learned::of(&kept.line, &kept.history)),
        (None, PageKind::Debrief) => report::debrief(&source, &looked_back(&kept)?),
    };
    if kept.practice && args.page != PageKind::Debrief {
        page.lead.insert(0, practised(kept.brief.as_ref()));
    }
    show(&page, args.form)
}

/// Said over every page that could be taken for one of the line.
fn practised(brief: Option<&Brief>) -> String {
    let of = brief.map_or(String::new(), |brief| format!(", {}", brief.title));
    format!("PRACTICE{of}: no real load was moved")
}

fn source(kept: &Kept) -> Source<'_> {
    Source {
        line: &kept.line,
        history: &kept.history,
        board: &kept.board,
        opening: &kept.opening,
        now: kept.now,
    }
}

/// All shifts, the oldest first.
fn trend(args: &Report) -> Result<Outcome, Bad> {
    let mut shifts: Vec<Figures> = Vec::new();
    for path in &args.shifts {
        let name = path.file_stem().unwrap_or(path.as_os_str()).to_string_lossy();
        shifts.push(report::figures(&source(&Kept::read(path, args.at)?), &name));
    }
    shifts.sort_by(|a, b| a.opened.cmp(&b.opened));
    match args.form {
        Form::Svg => say(&report::trend_svg(&shifts)),
        form => show(&report::trend(&shifts), form),
    }
}

fn show(page: &Page, form: Form) -> Result<Outcome, Bad> {
    match form {
        // On a terminal nothing is cut; whoever reads it by program or looks through it has whole rows.
        Form::Text | Form::Svg if std::io::stdout().is_terminal() => {
            say(&page.text_within(usize::from(columns())))
        }
        Form::Text | Form::Svg => say(&page.text()),
        Form::Markdown => say(&page.markdown()),
        Form::Csv => say(&page.csv()),
        Form::Json => say_json(&page.json()),
        Form::Html => say(&page.html()),
    }
}

/// With the hash that `verify --expect` asks for: on paper nobody can change it.
fn sealed(mut page: Page, kept: &Kept) -> Page {
    page.lead.push(format!("journal: {} entries, hash of the last {}", kept.entries, kept.hash));
    page
}

/// The debrief with all it can be held against.
fn looked_back(kept: &Kept) -> Result<Debrief, Bad> {
    let mut debrief = Debrief::of(&kept.line, &kept.history, kept.now).of_practice(kept.brief.as_ref());
    debrief.rivals = rivals(&kept.line, &debrief.met, debrief.until, Effort::default())?;
    Ok(debrief)
}
