//! Two shifts that were one up to some event, side by side.

use super::deeds::{length, stood};
use super::recording::Recording;
use crate::ids::Seq;
use crate::line::Harm;
use crate::shift::alarm::REACTION;
use crate::shift::{Event, Stamped};
use crate::sim::Outcome;
use crate::units::{Dur, Time};
use crate::verify::Breach;

/// Where two shifts part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parting {
    /// Events before it in the one that has fewer of them.
    pub same: usize,
    /// When the first of the two went on differently.
    pub at: Time,
    /// What happened in the first; `None` if it ends there.
    pub one: Option<Side>,
    /// What happened in the other.
    pub other: Option<Side>,
}

/// What happened on one side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Side {
    /// When it happened.
    pub at: Time,
    /// When it was said.
    pub entered: Time,
    /// What, in words.
    pub text: String,
}

/// A figure of both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// What it counts.
    pub what: &'static str,
    /// A short name for `--json`.
    pub key: &'static str,
    /// Of the first.
    pub one: i64,
    /// Of the other.
    pub other: i64,
    /// Which of two is better.
    pub better: Better,
    /// It counts milliseconds.
    pub is_time: bool,
}

/// Which of two figures is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// The smaller.
    Less,
    /// The greater.
    More,
    /// Neither by itself.
    Either,
}

/// Two shifts side by side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Compared {
    /// Up to when: as far as both go.
    pub until: Time,
    /// The first thing said, done or changed that differs to people; `None` if there is none. See [`APART`].
    pub parting: Option<Parting>,
    /// The first event of any kind that differs, plans and alarms among them, by how many are the same.
    pub same_events: usize,
    /// Figures up to then.
    pub figures: Vec<Figure>,
    /// What only the first broke.
    pub only_one: Vec<Breach>,
    /// What only the other broke.
    pub only_other: Vec<Breach>,
}

/// Holds two shifts on the same line against each other, as far as both go.
pub fn compare(one: &Recording, other: &Recording) -> Compared {
    let until = one.end().at.min(other.end().at);
    let history = |r: &Recording| r.history(r.at(until).ix);
    let of = |r: &Recording| Outcome::of(r.line(), &history(r), until);
    let (a, b) = (of(one), of(other));
    let stood = [one, other].map(|r| length(&stood(r.line(), &history(r), until)));
    let lacks = |all: &[Breach], b: &Breach| !all.contains(b);
    Compared {
        until,
        parting: parting(one, other),
        same_events: same(one.events(), other.events()),
        figures: figures(&a, &b, stood),
        only_one: a.breaches.iter().filter(|x| lacks(&b.breaches, x)).cloned().collect(),
        only_other: b.breaches.iter().filter(|x| lacks(&a.breaches, x)).cloned().collect(),
    }
}

fn same(one: &[Stamped], other: &[Stamped]) -> usize {
    one.iter().zip(other).take_while(|(a, b)| a == b).count()
}

/// True for what people say, do and change; plans and alarms come of that.
fn is_said(event: &Event) -> bool {
    let said = event.calls_for_plan() || matches!(event, Event::Entered { .. } | Event::Noted { .. });
    said && !matches!(event, Event::PaceLearned { .. })
}

/// The same thing done or said within this is no parting: so much time a person has to answer a call or an alarm, and the
/// same hands differ by as much from one day to the next. Whoever is later than that did something else meanwhile.
pub const APART: Dur = REACTION;

/// True if two times are the same to people.
fn near(a: Time, b: Time) -> bool {
    (a - b).0.abs() < APART.0
}

/// True if two events say the same to people; `told` finds the place of an event among what was said.
fn says_the_same(one: &Event, other: &Event, told: impl Fn(Seq, Seq) -> bool) -> bool {
    match (one, other) {
        // Numbers of events count plans and alarms, which come of the same deeds at other instants.
        (Event::Undone { seq: x }, Event::Undone { seq: y }) => told(*x, *y),
        (Event::Retimed { seq: x, at: to }, Event::Retimed { seq: y, at }) => told(*x, *y) && near(*to, *at),
        _ => one == other,
    }
}

fn parting(one: &Recording, other: &Recording) -> Option<Parting> {
    let said = |r: &Recording| -> Vec<usize> {
        r.events().iter().enumerate().filter(|(_, s)| is_said(&s.event)).map(|(ix, _)| ix).collect()
    };
    let (a, b) = (said(one), said(other));
    let place =
        |r: &Recording, said: &[usize], seq: Seq| said.iter().position(|ix| r.events()[*ix].seq == seq);
    let told = |x: Seq, y: Seq| place(one, &a, x) == place(other, &b, y);
    let alike = |x: usize, y: usize| {
        let (x, y) = (&one.events()[x], &other.events()[y]);
        near(x.at, y.at) && near(x.entered, y.entered) && says_the_same(&x.event, &y.event, told)
    };
    let n = a.iter().zip(&b).take_while(|(x, y)| alike(**x, **y)).count();
    let side = |r: &Recording, ix: Option<&usize>| {
        let (s, text) = ix.map(|ix| (&r.events()[*ix], r.words(*ix).to_owned()))?;
        Some(Side { at: s.at, entered: s.entered, text })
    };
    let when = |r: &Recording, ix: Option<&usize>| ix.map(|ix| r.events()[*ix].entered);
    let at = [when(one, a.get(n)), when(other, b.get(n))].into_iter().flatten().min()?;
    // Where one side ends there are no more events of it than it has.
    let before = |r: &Recording, ix: Option<&usize>| ix.copied().unwrap_or(r.events().len());
    let same = before(one, a.get(n)).min(before(other, b.get(n)));
    Some(Parting { same, at, one: side(one, a.get(n)), other: side(other, b.get(n)) })
}

fn figures(a: &Outcome, b: &Outcome, stood: [Dur; 2]) -> Vec<Figure> {
    use Better::{Either, Less, More};
    let figure = |what, key, one, other, better, is_time| Figure { what, key, one, other, better, is_time };
    let count = |what, key, one: usize, other: usize, better| {
        figure(what, key, one as i64, other as i64, better, false)
    };
    let time = |what, key, one: Dur, other: Dur, better| figure(what, key, one.0, other.0, better, true);
    let (x, y) = (a.tally(), b.tally());
    let broken = |what, key, harm| count(what, key, x.count(harm), y.count(harm), Less);
    let late = |o: &Outcome| o.late.iter().map(|(_, by)| *by).sum::<Dur>();
    vec![
        broken("broken: scrap", "scrap", Harm::Scrap),
        broken("broken: rework", "rework", Harm::Rework),
        broken("broken: shade", "shade", Harm::Shade),
        broken("broken: nuisance", "nuisance", Harm::Nuisance),
        time("too long in the air", "air_excess_ms", a.air_excess, b.air_excess, Less),
        count("carriers finished", "finished", a.finished, b.finished, More),
        count("with nothing broken", "clean", a.clean, b.clean, More),
        time("late, in all", "late_ms", late(a), late(b), Less),
        count("alarms", "alarms", a.alarms, b.alarms, Less),
        count("still on the line", "on_line", a.on_line, b.on_line, Either),
        count("still waiting", "queued", a.queued, b.queued, Either),
        count("moves", "moves", a.moves, b.moves, Either),
        time("stood with a call due", "stood_ms", stood[0], stood[1], Either),
    ]
}
