//! `replay` in a terminal: the recording is played; where the person takes it over, the live screens of a practice follow,
//! then the recording again.

use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::args::{Budget, CrewKind, Run};
use super::played::Played;
use super::progress::{Answered, Practised, keep};
use super::replay::{NAMES, fork, go_on};
use super::replay_args::Replay;
use super::{Bad, Outcome, drill, ended, preferences, run};
use crate::clock::wall_now;
use crate::journal;
use crate::replay::compare;
use crate::sim::Pace;
use crate::tui::tape::How;
use crate::tui::{self, Cautions, Ears, Options, Player, Tally};

pub fn show(args: &Replay, played: &Played) -> Result<Outcome, Bad> {
    let looks = Run { looks: args.looks.clone(), ..Run::default() };
    let options = Options { cautions: Cautions::Read, ..run::options(&looks, false)? };
    let plain = preferences::chosen(&args.looks)?.plain();
    if !plain && !std::io::stdin().is_terminal() {
        let text = "a replay needs a terminal; --plain, --at, --list marks and --why work without one";
        return Err(Bad(text.to_owned()));
    }
    let ears = Ears::listen(plain || !run::can_paint())?;
    let mut player = player(args, played)?;
    loop {
        let outcome = ended(tui::replay(&ears, &mut player, &options));
        if !matches!(outcome, Outcome::Fine) {
            return Ok(outcome);
        }
        let Some(how) = player.take_wanted() else {
            keep_answers(args, played, player.tally())?;
            return Ok(Outcome::Fine);
        };
        let (outcome, left) = take_over(args, played, &ears, &mut player, how)?;
        if !left {
            return Ok(outcome);
        }
    }
}

/// The recording at its beginning.
fn player(args: &Replay, played: &Played) -> Result<Player, Bad> {
    let mut player = Player::new(Arc::clone(&played.recording), args.planner.settings(), args.budget);
    player.set_brief(drill::brief(&played.header)?);
    if let Some(damage) = played.damage() {
        player.say(damage);
    }
    Ok(player)
}

/// Keeps how the questions were answered, if somebody said whose answers they are.
fn keep_answers(args: &Replay, played: &Played, tally: Tally) -> Result<(), Bad> {
    let Some(initials) = args.initials.clone().filter(|_| tally.asked > 0) else { return Ok(()) };
    let name = played.name.rsplit('/').next().unwrap_or(&played.name);
    let Tally { asked, right, harmful } = tally;
    keep(Practised {
        at: String::new(),
        journal: None,
        initials,
        name: format!("what next {name}"),
        ended: true,
        watched: false,
        drill: None,
        quiz: Some(Answered { asked, right, harmful }),
    })
}

/// Goes on with a practice from where the recording stands; whether the person wants the recording again.
fn take_over(
    args: &Replay,
    played: &Played,
    ears: &Ears,
    player: &mut Player,
    how: How,
) -> Result<(Outcome, bool), Bad> {
    let point = player.point();
    let out = new_practice();
    journal::ensure_folder(&out)?;
    let (crew, speed) = match how {
        How::Keys(speed) => (None, speed),
        How::Crew(speed) => (Some(CrewKind::Simulated), speed),
        How::AtOnce => (None, 1),
    };
    fork(played, point, &out, f64::from(speed))?;
    let ended = if how == How::AtOnce {
        go_on(args, &out, Pace::HUMAN, played.recording.end().at)?;
        (Outcome::Fine, true)
    } else {
        let live = Run {
            planner: args.planner,
            shift: Some(out.clone()),
            crew,
            speed: Some(f64::from(speed)),
            budget: Some(Budget::EACH_EVENT),
            looks: args.looks.clone(),
            ..Run::default()
        };
        let end = played.recording.end().at;
        let ends = (point.at < end).then_some(end);
        run::live(&live, ears, None, ends, false)?
    };
    if ended.1 {
        hold_against(played, player, &out, ears.are_lines())?;
    }
    Ok(ended)
}

fn hold_against(played: &Played, player: &mut Player, out: &Path, in_lines: bool) -> Result<(), Bad> {
    let practice = Played::read(Some(out))?;
    let compared = compare(&played.recording, &practice.recording);
    let mut lines = compared.lines(played.recording.opening(), NAMES);
    lines.push((String::new(), false));
    lines.push(("The practice is kept in".to_owned(), true));
    lines.push((out.display().to_string(), false));
    let again = if in_lines { "beside tells this again" } else { "c shows this again" };
    player.show(lines, format!("{again}. The recording is where it was."));
    Ok(())
}

/// A journal of its own for every practice.
fn new_practice() -> PathBuf {
    let stamp = wall_now().format("%Y%m%d-%H%M%S");
    journal::default_path(&format!("practice-{stamp}-{}.jsonl", std::process::id()))
}
