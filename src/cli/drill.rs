//! `drill`: shifts made for practice, on the live screens, with a debrief at the end.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use super::args::{Form, Role, Run};
use super::drill_args::Drill as Args;
use super::inputs::{self, Text, Texts};
use super::plan::warn;
use super::preferences;
use super::progress::{Kept, Practised, Progress, keep};
use super::run::{self, new_journal, options};
use super::seat::Seat;
use super::{Bad, Outcome, broken_at, columns, ended, quiz, say, say_json};
use crate::civil::Opening;
use crate::clock::{Clock, ManualClock, RunningClock};
use crate::files;
use crate::journal::{self, Header, StoredText};
use crate::line::Line;
use crate::live::{Halted, Improving, LiveShift, NewShift};
use crate::plan::Settings;
use crate::report::{self, Page, Source};
use crate::shift::ledger::{Entry, Sign};
use crate::shift::{Command, Event, Who};
use crate::sim::Crew;
use crate::train::{Brief, Debrief, Director, Drill, Effort, TakenOver, rivals};
use crate::tui::{self, Begin, Course, Ears, Options};
use crate::units::{Dur, Time};

pub fn drill(args: &Args) -> Result<Outcome, Bad> {
    if let Some(initials) = &args.progress {
        return Progress::read()?.print(initials, args.json);
    }
    if let Some(about) = &args.quiz {
        return quiz::quiz(args, about);
    }
    let Some(name) = &args.name else { return list(args) };
    let ground = match args.shift.as_deref().filter(|p| p.exists()) {
        Some(path) => begun(path, name)?,
        None => Ground::of(name)?,
    };
    if args.at_once {
        return at_once(args, &ground);
    }
    let plain = preferences::chosen(&args.looks)?.plain();
    if !plain && !run::at_terminal() {
        let text = "a drill needs a terminal; --plain works without one, and --crew simulated --at-once";
        return Err(Bad(text.to_owned()));
    }
    on_screen(args, &ground, plain)
}

/// The drill that a journal was made by.
fn begun(path: &Path, name: &str) -> Result<Ground, Bad> {
    let (_, header) = journal::Journal::follow(path).map_err(crate::live::Problem::from)?;
    match Ground::of_journal(&header)? {
        Some(ground) if ground.drill.name == short(name) => Ok(ground),
        Some(other) => Err(Bad(format!("{} is of the drill {}", path.display(), other.drill.name))),
        None => Err(Bad(format!("{} is no drill's; run --shift opens it", path.display()))),
    }
}

/// Goes on with a shift at this terminal, if it is a drill's that was left before and nobody runs it.
pub fn go_on(run: &Run, path: &Path) -> Result<Option<Outcome>, Bad> {
    let (_, header) = journal::Journal::follow(path).map_err(crate::live::Problem::from)?;
    let Some(ground) = Ground::of_journal(&header)? else { return Ok(None) };
    if matches!(Seat::take(path)?, Seat::Joins(_)) {
        return Ok(None);
    }
    let args = Args {
        name: Some(ground.drill.name.clone()),
        initials: None,
        speed: run.speed.unwrap_or(header.speed),
        crew: run.crew,
        role: run.role,
        at_once: false,
        form: Form::default(),
        shift: Some(path.to_owned()),
        progress: None,
        quiz: None,
        questions: 0,
        json: false,
        looks: run.looks.clone(),
    };
    let plain = preferences::chosen(&run.looks)?.plain();
    on_screen(&args, &ground, plain).map(Some)
}

/// A drill and what it is run on.
pub struct Ground {
    pub line: Arc<Line>,
    pub drill: Drill,
    pub opening: Opening,
    texts: Texts,
    /// The drill's file.
    text: Text,
}

impl Ground {
    /// The drill of a name from the list, or from a file.
    pub fn of(name: &str) -> Result<Self, Bad> {
        let own = |s: files::Source<'_>| Text { name: s.name.to_owned(), text: s.text.to_owned() };
        let text = match files::drills().iter().find(|s| short(s.name) == name) {
            Some(embedded) => own(*embedded),
            None if Path::new(name).exists() => inputs::read(Path::new(name))?,
            None => return Err(Bad(format!("there is no drill {name}; `dwellhand drill` lists them"))),
        };
        let (line, recipes, orders) = files::demo();
        let (line, recipes, orders) = (own(line), own(recipes), own(orders));
        let texts = Texts { line, recipes, orders, demo: true, own_line: false };
        Self::on(texts, text)
    }

    /// The drill that a journal was made by; `None` if it is no drill's.
    pub fn of_journal(header: &Header) -> Result<Option<Self>, Bad> {
        if !files::is_drill(&header.texts.orders.text) {
            return Ok(None);
        }
        let StoredText { name, text } = header.texts.orders.clone();
        Self::on(Texts::of(&header.texts), Text { name, text }).map(Some)
    }

    fn on(texts: Texts, text: Text) -> Result<Self, Bad> {
        let wrong =
            |f: &[crate::finding::Finding]| Bad(inputs::listed(f, &[&texts.line, &texts.recipes, &text]));
        let line =
            files::read_line(texts.line.source(), texts.recipes.source()).map_err(|f| wrong(&f))?.value;
        let (drill, opening) = files::read_drill(text.source(), &line).map_err(|f| wrong(&f))?.value;
        Ok(Self { line: Arc::new(line), drill, opening, texts, text })
    }

    fn settings(&self) -> Settings {
        Settings { seed: self.drill.seed, ..Settings::default() }
    }

    /// When it is over at the latest.
    pub fn end(&self) -> Time {
        Time::ZERO + self.drill.lasting
    }

    /// The shift at its opening; kept in memory without a path.
    pub fn open(&self, path: Option<&Path>, clock: Box<dyn Clock>, speed: f64) -> Result<LiveShift, Bad> {
        let book = self.drill.book.clone();
        let mut shift = if let Some(path) = path {
            journal::ensure_folder(path)?;
            let stored = |t: &Text| StoredText { name: t.name.clone(), text: t.text.clone() };
            let texts = journal::StoredTexts {
                line: stored(&self.texts.line),
                recipes: stored(&self.texts.recipes),
                // Whoever opens it again goes on with its troubles.
                orders: stored(&self.text),
            };
            let zone = self.opening.zone();
            let settings = self.settings();
            let new = NewShift { texts, opening: self.opening, zone, book, settings, practice: true, speed };
            LiveShift::create(path, Arc::clone(&self.line), new, clock)?
        } else {
            let line = Arc::clone(&self.line);
            let mut shift = LiveShift::in_memory(line, self.opening, clock, self.settings());
            shift.submit(&Command::Open { book }, Who::Supervisor)?;
            shift
        };
        self.direct(&mut shift);
        Ok(shift)
    }

    /// Lets what is left of the drill happen.
    pub fn direct(&self, shift: &mut LiveShift) {
        let happens = self.drill.happens.clone();
        let director = Director::resumed(shift.filed(), happens, shift.history());
        shift.set_director(director);
        shift.set_brief(Some(self.drill.brief()));
    }

    /// The shift of a drill that was begun before, with what is left of its troubles.
    fn reopen(&self, path: &Path) -> Result<LiveShift, Bad> {
        let still = |_: &Header, base: Time| -> Box<dyn Clock> {
            let clock = ManualClock::default();
            clock.set(base);
            Box::new(clock)
        };
        let mut shift = run::reopen(path, self.settings(), still)?;
        self.direct(&mut shift);
        Ok(shift)
    }
}

/// What practice a journal is of; `None` for one that is of no drill and was not taken over.
pub fn brief(header: &Header) -> Result<Option<Brief>, Bad> {
    let taken_over = header.forked_from.as_ref().map(|o| TakenOver { after: o.event, at: o.at });
    let drill = Ground::of_journal(header)?.map(|g| Brief { taken_over, ..g.drill.brief() });
    let forked = || Some(Brief::of_take_over(&header.forked_from.as_ref()?.journal, taken_over?));
    Ok(drill.or_else(forked))
}

/// The name of a drill from that of its file.
fn short(path: &str) -> &str {
    let file = path.rsplit('/').next().unwrap_or(path);
    file.strip_suffix(".json").unwrap_or(file)
}

fn list(args: &Args) -> Result<Outcome, Bad> {
    let progress = Progress::read()?;
    let initials = args.initials.as_deref();
    let mut drills =
        files::drills().iter().map(|s| Ground::of(short(s.name))).collect::<Result<Vec<_>, _>>()?;
    drills.sort_by_key(|g| g.drill.difficulty);
    if args.json {
        let row = |g: &Ground| {
            let best = progress.best(&g.drill.name, initials);
            serde_json::json!({
                "name": g.drill.name,
                "title": g.drill.title,
                "about": g.drill.about,
                "difficulty": g.drill.difficulty,
                "hours": g.drill.lasting.as_secs_f64() / 3600.0,
                "best": best.as_ref().map(|(_, kept)| kept),
                "best_by": best.map(|(p, _)| &p.initials),
            })
        };
        let rows: Vec<_> = drills.iter().map(row).collect();
        return say_json(&serde_json::json!({ "format": "dwellhand-drills/1", "drills": rows }));
    }
    let mut text = String::new();
    let wide = columns().min(100);
    for g in &drills {
        let Drill { name, title, difficulty, lasting, about, .. } = &g.drill;
        let hard = ["plain", "tight", "upset"][usize::from(*difficulty).clamp(1, 3) - 1];
        let hours = lasting.as_secs_f64() / 3600.0;
        let head = format!("{name:<20} {difficulty} {hard:<6} {hours:>3} h  {title}");
        text.push_str(&broken_at(&head, wide, 4));
        for line in tui::widgets::text::wrap(about, wide.saturating_sub(4)) {
            let _ = writeln!(text, "    {line}");
        }
        match progress.best(name, initials) {
            Some((p, kept)) => writeln!(text, "    best so far, {}: {}", p.initials, kept.words()),
            None => writeln!(text, "    {}", progress.so_far(name, initials)),
        }
        .expect("a String takes everything");
    }
    let how = "dwellhand drill NAME --initials AB runs one; --crew simulated watches a crew do it";
    text.push('\n');
    text.push_str(&broken_at(how, wide, 4));
    say(&text)
}

/// As fast as the machine allows, with a crew.
fn at_once(args: &Args, ground: &Ground) -> Result<Outcome, Bad> {
    let clock = ManualClock::default();
    let mut shift = ground.open(args.shift.as_deref(), Box::new(clock.clone()), 1.0)?;
    shift.set_improving(Improving::AtOnce { tries: TRIES })?;
    hands(args, ground, &mut shift);
    play(&mut shift, &clock, ground.end())?;
    for notice in shift.take_notices() {
        warn(&notice.to_string());
    }
    let debrief = finish(args, ground, &mut shift)?;
    let page = page(ground, &mut shift, debrief)?;
    match args.form {
        // The arguments offer no picture.
        Form::Text | Form::Svg => say(&page.text_within(usize::from(columns()))),
        Form::Markdown => say(&page.markdown()),
        Form::Csv => say(&page.csv()),
        Form::Html => say(&page.html()),
        Form::Json => say_json(&page.json()),
    }
}

/// Tries at a better plan after each event without a screen.
const TRIES: u64 = 10_000;

/// Lets a shift live until it is over, jumping from one thing that happens to the next.
pub fn play(shift: &mut LiveShift, clock: &ManualClock, end: Time) -> Result<(), Bad> {
    while shift.now() < end && !shift.is_played_out() {
        let next = shift.next_wake().max(shift.now() + Dur(1)).min(end);
        clock.set(next);
        shift.tick()?;
    }
    Ok(())
}

fn hands(args: &Args, ground: &Ground, shift: &mut LiveShift) {
    if let Some(crew) = args.crew {
        shift.set_hands(Box::new(Halted(Crew::new(crew.pace(), ground.drill.seed))));
    }
}

fn on_screen(args: &Args, ground: &Ground, plain: bool) -> Result<Outcome, Bad> {
    let plain = plain || !run::can_paint();
    if args.role == Role::Watch {
        return Err(Bad("--role watch only looks; --crew simulated lets you watch a drill".to_owned()));
    }
    let path: PathBuf =
        args.shift.clone().unwrap_or_else(|| new_journal(&format!("drill-{}", ground.drill.name)));
    // Time stands still until the cautions are read.
    let begun = path.exists();
    let mut shift = if begun {
        ground.reopen(&path)?
    } else {
        ground.open(Some(&path), Box::new(ManualClock::default()), args.speed)?
    };
    let mut seat = Seat::take(&path)?;
    if matches!(seat, Seat::Joins(_)) {
        return Err(Bad(format!(
            "another terminal runs this drill; run --shift {} joins it",
            path.display()
        )));
    }
    shift.set_improving(Improving::Behind { lasting: LASTING, tries: MOST_TRIES })?;
    let args = &Args { initials: args.initials.clone().or_else(|| signed(&shift)), ..args.clone() };
    if let Some(initials) = args.initials.clone().filter(|_| !begun) {
        let entry = Entry::Signed { sign: Sign::On, initials };
        shift.submit(&Command::Enter { entry, at: Time::ZERO }, Who::Operator)?;
    }
    hands(args, ground, &mut shift);
    let speed = args.speed;
    let mut begin = |shift: &mut LiveShift, _: Begin| {
        let now = shift.now();
        shift.set_clock(Box::new(RunningClock::practice(now, speed)));
        if let Err(Bad(text)) = seat.tell(now, speed) {
            warn(&text);
        }
    };
    let run = Run { role: args.role, looks: args.looks.clone(), crew: args.crew, ..Run::default() };
    let course = Course { ends: ground.end(), speed };
    let options = Options { course: Some(course), ..options(&run, false)? };
    let exit = tui::run(&Ears::listen(plain)?, &mut shift, &options, &mut begin);
    note_the_end(ground, &mut shift);
    let debrief = finish(args, ground, &mut shift)?;
    let page = page(ground, &mut shift, debrief)?;
    let outcome = ended(exit);
    if matches!(outcome, Outcome::Signal(_)) {
        return Ok(outcome);
    }
    say(&if plain {
        tui::plain::spoken(&page).join("\n") + "\n"
    } else {
        page.text_within(usize::from(columns()))
    })?;
    let path = path.display();
    warn(&format!("The drill is kept in {path}"));
    if !is_over(ground, &mut shift) {
        warn(&format!("Go on with: dwellhand run --shift {path}"));
    }
    Ok(outcome)
}

/// Whose drill it is, by the first signature.
fn signed(shift: &LiveShift) -> Option<String> {
    shift.history().events().iter().find_map(|s| match &s.event {
        Event::Entered { entry: Entry::Signed { sign: Sign::On, initials } } => Some(initials.clone()),
        _ => None,
    })
}

fn is_over(ground: &Ground, shift: &mut LiveShift) -> bool {
    shift.now() >= ground.end() || shift.is_played_out()
}

/// Leaves an entry for the moment a drill was left or over: who reads the journal goes by its last one, and so does its
/// clock when it is gone on with.
fn note_the_end(ground: &Ground, shift: &mut LiveShift) {
    let text = if is_over(ground, shift) { "the drill is over" } else { "left the screens" };
    let is_noted = |e: &Event| matches!(e, Event::Noted { text: said } if said == text);
    if shift.history().events().last().is_some_and(|s| is_noted(&s.event)) {
        return;
    }
    if let Err(problem) = shift.submit(&Command::Note { text: text.to_owned() }, Who::Operator) {
        warn(&problem.to_string());
    }
}

/// The name of the journal, which tells one practice from another.
fn journal_of(shift: &LiveShift) -> Option<String> {
    shift.path()?.file_name().map(|name| name.to_string_lossy().into_owned())
}

/// True if a simulated crew made moves on it, now or before.
fn by_crew(shift: &LiveShift) -> bool {
    let moves = |e: &Event| matches!(e, Event::Lifted { .. } | Event::Lowered { .. });
    shift.history().events().iter().any(|s| s.by == Who::Crew && moves(&s.event))
}

/// What a better plan may take after each event.
const LASTING: Duration = Duration::from_secs(1);
const MOST_TRIES: u64 = 500_000;

/// Keeps what it came to for the trainee.
fn finish(args: &Args, ground: &Ground, shift: &mut LiveShift) -> Result<Debrief, Bad> {
    let now = shift.now();
    let debrief = Debrief::of(&ground.line, shift.history(), now).of_practice(shift.brief());
    if let Some(initials) = args.initials.clone() {
        keep(Practised {
            at: String::new(),
            journal: journal_of(shift),
            initials,
            name: ground.drill.name.clone(),
            ended: is_over(ground, shift),
            watched: args.crew.is_some() || by_crew(shift),
            drill: Some(Kept::from(debrief.score())),
            quiz: None,
        })?;
    }
    Ok(debrief)
}

fn page(ground: &Ground, shift: &mut LiveShift, mut debrief: Debrief) -> Result<Page, Bad> {
    let now = shift.now();
    let effort = Effort { seed: ground.drill.seed, ..Effort::default() };
    debrief.rivals = rivals(&ground.line, &debrief.met, debrief.until, effort)?;
    let board = tui::board_of(shift);
    let source =
        Source { line: &ground.line, history: shift.history(), board: &board, opening: &ground.opening, now };
    Ok(report::debrief(&source, &debrief))
}
