//! What trainees have practised: a plain file under the state folder, one line of JSON for each practice, which is only
//! ever added to.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::{Bad, Outcome, inputs, plan::warn, say, say_json};
use crate::clock::wall_now;
use crate::journal;
use crate::train::Score;
use crate::units::Dur;

/// One practice, as it is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Practised {
    /// When, by the wall, RFC 3339.
    pub at: String,
    pub initials: String,
    /// The name of the drill, or of what was asked about.
    pub name: String,
    /// The journal it is kept in: gone on with later, it is still one practice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub journal: Option<String>,
    /// It went on to its end.
    pub ended: bool,
    /// A simulated crew did the moves, or some of them.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub watched: bool,
    /// What a drill came to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drill: Option<Kept>,
    /// What a quiz came to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quiz: Option<Answered>,
}

/// The figures of a drill.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    pub scrap: usize,
    pub rework: usize,
    pub shade: usize,
    pub nuisance: usize,
    pub finished: usize,
    pub clean: usize,
    pub called: usize,
    pub followed: usize,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reaction_s: Option<f64>,
}

/// The figures of a quiz.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answered {
    /// Questions that were answered.
    pub asked: usize,
    /// Answers that cost nothing.
    pub right: usize,
    /// Answers that would have broken a window.
    pub harmful: usize,
}

impl From<Score> for Kept {
    fn from(score: Score) -> Self {
        let [scrap, rework, shade, nuisance] = score.harms;
        let Score { finished, clean, called, followed, .. } = score;
        let reaction_s = score.reaction.map(|r| (r.as_secs_f64() * 10.0).round() / 10.0);
        Self { scrap, rework, shade, nuisance, finished, clean, called, followed, reaction_s }
    }
}

impl From<Kept> for Score {
    fn from(kept: Kept) -> Self {
        let Kept { scrap, rework, shade, nuisance, finished, clean, called, followed, reaction_s } = kept;
        let reaction = reaction_s.map(Dur::from_secs_f64);
        Self { harms: [scrap, rework, shade, nuisance], finished, clean, called, followed, reaction }
    }
}

impl Kept {
    /// In a few words.
    pub fn words(&self) -> String {
        let harms = [
            (self.scrap, "scrap"),
            (self.rework, "rework"),
            (self.shade, "shade"),
            (self.nuisance, "nuisance"),
        ];
        let broken: Vec<String> =
            harms.iter().filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}")).collect();
        let broken = if broken.is_empty() { "nothing broken".to_owned() } else { broken.join(", ") };
        format!("{} out, {broken}, {} of {} calls followed", self.finished, self.followed, self.called)
    }
}

/// Everything that was practised.
pub struct Progress(Vec<Practised>);

fn path() -> PathBuf {
    journal::default_path("progress.jsonl")
}

impl Progress {
    /// Reads the file; there is none before the first practice. Lines that are none of ours are told and left alone.
    pub fn read() -> Result<Self, Bad> {
        if !path().exists() {
            return Ok(Self(Vec::new()));
        }
        let text = inputs::read(&path())?;
        let (progress, left_out) = Self::of(&text.text);
        for what in left_out {
            warn(&format!("{}: {what}", text.name));
        }
        Ok(progress)
    }

    /// What a text says, and which of its lines are none of ours.
    pub fn of(text: &str) -> (Self, Vec<String>) {
        let (mut all, mut left_out) = (Vec::new(), Vec::new());
        for (n, line) in text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty()) {
            match serde_json::from_str::<Practised>(line) {
                Ok(practised) => all.push(practised),
                Err(e) => left_out.push(format!("line {}: left out: {e}", n + 1)),
            }
        }
        // What was left and gone on with stands with what it came to last.
        let key = |p: &Practised| p.journal.clone().map(|j| (p.initials.clone(), p.name.clone(), j));
        let last: BTreeMap<_, usize> =
            all.iter().enumerate().filter_map(|(n, p)| Some((key(p)?, n))).collect();
        let mut n = 0..;
        all.retain(|p| {
            let n = n.next();
            key(p).is_none_or(|k| last.get(&k).copied() == n)
        });
        (Self(all), left_out)
    }

    /// Whose practices there are.
    pub fn initials(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(|p| p.initials.as_str())
    }

    /// The best that somebody, or anybody, has made of a drill by their own hands, to its end.
    pub fn best(&self, name: &str, initials: Option<&str>) -> Option<(&Practised, Kept)> {
        let own = self.0.iter().filter(|p| p.name == name && p.ended && !p.watched);
        let own = own.filter(|p| initials.is_none_or(|i| p.initials == i));
        own.filter_map(|p| Some((p, p.drill?))).min_by_key(|(_, kept)| Score::from(*kept).rank())
    }

    /// What is to be said of a drill where nobody has a best yet.
    pub fn so_far(&self, name: &str, initials: Option<&str>) -> &'static str {
        let own = || self.0.iter().filter(|p| p.name == name && initials.is_none_or(|i| p.initials == i));
        if own().any(|p| !p.watched) {
            "left early, never to its end"
        } else if own().next().is_some() {
            "watched only"
        } else {
            "not practised yet"
        }
    }

    /// Prints what somebody has practised, oldest first.
    pub fn print(&self, initials: &str, json: bool) -> Result<Outcome, Bad> {
        let own: Vec<&Practised> = self.0.iter().filter(|p| p.initials == initials).collect();
        if json {
            return say_json(&serde_json::json!({
                "format": "dwellhand-progress/1", "initials": initials, "practised": own,
            }));
        }
        say(&self.words(initials))
    }

    /// What somebody has practised, one line each.
    pub fn words(&self, initials: &str) -> String {
        let own: Vec<&Practised> = self.0.iter().filter(|p| p.initials == initials).collect();
        let mut text = format!("{initials}: {} practised\n", own.len());
        for p in own {
            let what = match (&p.drill, &p.quiz) {
                (Some(kept), _) => kept.words(),
                (_, Some(q)) => {
                    format!("{} of {} answers right, {} harmful", q.right, q.asked, q.harmful)
                }
                _ => String::new(),
            };
            let how = match (p.watched, p.ended) {
                (true, _) => ", watched",
                (_, false) => ", left early",
                _ => "",
            };
            let day = p.at.get(..16).unwrap_or(&p.at).replace('T', " ");
            let _ = writeln!(text, "{day}  {:<20}  {what}{how}", p.name);
        }
        text
    }
}

/// Adds a practice to the file, in one write.
pub fn keep(mut practised: Practised) -> Result<(), Bad> {
    practised.at = wall_now().to_rfc3339_opts(chrono::SecondsFormat::Secs, false);
    let path = path();
    journal::ensure_folder(&path)?;
    let line = serde_json::to_string(&practised).expect("plain structs of text and finite numbers") + "\n";
    let file = std::fs::File::options().create(true).append(true).open(&path);
    let written = file.and_then(|mut f| f.write_all(line.as_bytes()));
    written.map_err(|e| Bad(format!("{}: cannot write: {e}", path.display())))
}
