//! `drill --quiz`: "what next?" about a shift that was, or about a drill as a simulated crew runs it.

use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::Path;

use super::args::Run;
use super::drill::{Ground, play};
use super::drill_args::Drill as Args;
use super::kept::Kept;
use super::progress::{Answered, Practised, keep};
use super::run::{at_terminal, can_paint, options};
use super::{Bad, Outcome, ended, preferences, say, say_json};
use crate::civil::Opening;
use crate::clock::ManualClock;
use crate::line::Line;
use crate::live::Halted;
use crate::plan::Settings;
use crate::shift::History;
use crate::sim::{Crew, Pace};
use crate::train::{Question, questions};
use crate::tui::{self, Answers, Ears};
use crate::view::{choice_words, price_words};

pub fn quiz(args: &Args, about: &str) -> Result<Outcome, Bad> {
    if !args.json && std::io::stderr().is_terminal() {
        super::plan::warn("looking for moments worth a question; this takes some seconds");
    }
    let is_drill = Path::new(about).extension().is_none_or(|e| e == "json");
    let (line, opening, history, seed) = if Path::new(about).is_file() && !is_drill {
        let kept = Kept::read(Path::new(about), None)?;
        (Line::clone(&kept.line), kept.opening, kept.history, 1)
    } else {
        played(&Ground::of(about)?)?
    };
    let settings = Settings { seed, ..Settings::default() };
    let asked = questions(&line, &history, &settings, args.questions);
    if asked.is_empty() {
        say("Nothing on this shift is worth asking about: no other move would have cost anything.\n")?;
        return Ok(Outcome::No);
    }
    if args.json {
        return say_json(&json(&line, &opening, &asked));
    }
    let plain = preferences::chosen(&args.looks)?.plain();
    if !plain && !at_terminal() {
        let text = "a quiz needs a terminal; --plain works without one, and --json prints the questions with their prices";
        return Err(Bad(text.to_owned()));
    }
    let ears = Ears::listen(plain || !can_paint())?;
    let run = Run { looks: args.looks.clone(), ..Run::default() };
    let (exit, answers) = match tui::ask(&ears, &line, &opening, &asked, &options(&run, true)?) {
        Ok(done) => done,
        Err(error) => return Ok(ended(Err(error))),
    };
    say(&text(&line, &opening, &asked, &answers))?;
    if let Some(initials) = args.initials.clone() {
        keep(Practised {
            at: String::new(),
            journal: None,
            initials,
            name: format!("quiz {}", about.rsplit('/').next().unwrap_or(about)),
            ended: answers.len() == asked.len(),
            watched: false,
            drill: None,
            quiz: Some(score(&asked, &answers)),
        })?;
    }
    Ok(ended(Ok(exit)))
}

/// A drill as a simulated crew runs it.
fn played(ground: &Ground) -> Result<(Line, Opening, History, u64), Bad> {
    let clock = ManualClock::default();
    let mut shift = ground.open(None, Box::new(clock.clone()), 1.0)?;
    shift.set_hands(Box::new(Halted(Crew::new(Pace::HUMAN, ground.drill.seed))));
    play(&mut shift, &clock, ground.end())?;
    Ok(((*ground.line).clone(), ground.opening, shift.history().clone(), ground.drill.seed))
}

fn score(asked: &[Question], answers: &Answers) -> Answered {
    let given = || asked.iter().zip(answers).filter_map(|(q, a)| Some((q, (*a)?)));
    Answered {
        asked: given().count(),
        right: given().filter(|(q, a)| q.is_right(*a)).count(),
        harmful: given().filter(|(q, a)| q.is_harmful(*a)).count(),
    }
}

fn text(line: &Line, opening: &Opening, asked: &[Question], answers: &Answers) -> String {
    let mut text = String::new();
    for (q, answer) in asked.iter().zip(answers) {
        let call = choice_words(line, &q.state, &q.choices[0], q.at);
        let said = match answer {
            None => "passed over".to_owned(),
            Some(0) => "right".to_owned(),
            Some(a) => price_words(line, &q.state, &q.choices[*a]),
        };
        let _ = writeln!(text, "{}  {:<5}  {call}: {said}", opening.clock(q.at), q.grade.word());
    }
    let Answered { asked, right, harmful } = score(asked, answers);
    let _ = writeln!(text, "{right} of {asked} right, {harmful} would have broken a window");
    text
}

fn json(line: &Line, opening: &Opening, asked: &[Question]) -> serde_json::Value {
    let question = |q: &Question| {
        let choice = |k: usize| {
            serde_json::json!({
                "move": choice_words(line, &q.state, &q.choices[k], q.at),
                "begins_in_s": q.choices[k].waits.map(|t| (t - q.at).as_secs_f64()),
                "call": k == 0,
                "right": q.is_right(k),
                "harmful": q.is_harmful(k),
                "price": if k == 0 { String::new() } else { price_words(line, &q.state, &q.choices[k]) },
            })
        };
        serde_json::json!({
            "at": opening.clock(q.at),
            "grade": q.grade.word(),
            "choices": q.shown().into_iter().map(choice).collect::<Vec<_>>(),
        })
    };
    let questions: Vec<_> = asked.iter().map(question).collect();
    serde_json::json!({ "format": "dwellhand-quiz/1", "questions": questions })
}
