//! Where loads stayed longer than they had to, and what stood in their way meanwhile.

use std::collections::{BTreeMap, BTreeSet};

use super::outages::{Outage, outages};
use super::record::{dwells, is_rest};
use super::{Part, Source};
use crate::ids::{CarrierId, HoistId, RecipeId, TankId};
use crate::line::{Role, StageKind, Visit};
use crate::shift::{Change, Event, Stay, counting};
use crate::units::{Dur, Time};
use crate::view::Going;

/// How long loads stayed beyond the shortest dwell, by what they waited in.
pub(super) fn places(source: &Source<'_>) -> Part {
    let line = source.changed_line();
    let state = source.state();
    let mut by_kind: BTreeMap<&str, (Dur, usize)> = BTreeMap::new();
    for id in state.carriers.ids() {
        let all = state.runs(id).flat_map(|(recipe, stays)| dwells(stays).map(move |dwell| (recipe, dwell)));
        for (recipe, (tank, visit, dwell)) in all {
            let kind = match (visit, line.tanks[tank].role) {
                (Visit::Hold(_), _) => "in standby",
                (Visit::Stray { .. }, _) => "in a wrong tank",
                (_, Role::Bath(stage)) => match line.stages[stage].kind {
                    StageKind::Rinse => "in a rinse",
                    StageKind::Anodise => "in anodise",
                    StageKind::Dye => "in dye",
                    StageKind::Seal => "in seal",
                    StageKind::Dry => "in the dryer",
                    _ => "in another bath",
                },
                _ => continue,
            };
            let (min, _) = line.window(recipe, visit);
            let by = by_kind.entry(kind).or_default();
            by.0 += (dwell - min).or_zero();
            by.1 += 1;
        }
    }
    let rows = by_kind.into_iter().map(|(kind, (sum, n))| {
        let mean = Dur(sum.0 / i64::try_from(n).unwrap_or(1).max(1));
        vec![kind.to_owned(), n.to_string(), sum.to_string(), mean.to_string()]
    });
    Part::table(
        "Waiting beyond the shortest dwell",
        &["where", "stays", "in all", "on average"],
        rows.collect(),
    )
}

/// What a load waits for; of several at once the first counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Cause {
    Held,
    Stopped,
    NoTank,
    Busy,
    ShutAhead,
    Free,
}

impl Cause {
    const ALL: [Self; 6] = [Self::Held, Self::Stopped, Self::NoTank, Self::Busy, Self::ShutAhead, Self::Free];

    fn words(self) -> &'static str {
        match self {
            Self::Held => "somebody had said to hold it",
            Self::Stopped => "the crane was said to be stopped",
            Self::NoTank => "no tank for its next step was free",
            Self::Busy => "crane or crew was with another load, or on the way",
            Self::ShutAhead => "all tanks of a later step were out or in quarantine",
            Self::Free => "the crane was free: it was called later, or came later",
        }
    }
}

/// From then until just before then.
type Span = (Time, Time);

fn covers(span: &Span, t: Time) -> bool {
    span.0 <= t && t < span.1
}

/// What went on while loads waited, as the journal has it.
struct Meanwhile<'a> {
    source: &'a Source<'a>,
    held: Vec<(CarrierId, Span)>,
    stopped: Vec<(HoistId, Span)>,
    shut: Vec<Outage>,
    going: Vec<(HoistId, Span)>,
    /// How many people worked the hoists: one alone is with one of them at a time.
    people: usize,
    stays: Vec<(TankId, CarrierId, Span)>,
    /// Every instant at which something of that changes.
    turns: BTreeSet<Time>,
}

impl<'a> Meanwhile<'a> {
    fn of(source: &'a Source<'a>) -> Self {
        let (mut held, mut stopped) = (Vec::new(), Vec::new());
        let mut people = BTreeSet::new();
        for (stamped, at) in counting(source.history.events()) {
            match &stamped.event {
                Event::Lifted { hoist, .. } => {
                    people.insert(stamped.by);
                    end(&mut stopped, hoist, at);
                }
                Event::Changed { change, .. } => match change {
                    Change::Hold { carrier } => begin(&mut held, *carrier, at, Time::FAR),
                    Change::Release { carrier } => end(&mut held, carrier, at),
                    Change::StopHoist { hoist, until, .. } => {
                        begin(&mut stopped, *hoist, at, until.unwrap_or(Time::FAR));
                    }
                    Change::RunHoist { hoist } => end(&mut stopped, hoist, at),
                    _ => {}
                },
                _ => {}
            }
        }
        let shut = outages(source);
        let times = &source.board.times;
        let ways = times.ways.iter().filter(|w| w.going != Going::Waits);
        let going: Vec<_> = ways.map(|w| (w.hoist, (w.from.0, w.to.0))).collect();
        let stays = times.stays.iter().filter(|s| s.from < source.now);
        let stays: Vec<_> = stays.map(|s| (s.tank, s.carrier, (s.from, s.to.unwrap_or(Time::FAR)))).collect();
        let spans = held.iter().map(|(_, s)| s).chain(stopped.iter().map(|(_, s)| s));
        let spans = spans.chain(going.iter().map(|(_, s)| s)).chain(stays.iter().map(|(_, _, s)| s));
        let outages = shut.iter().flat_map(|o| [o.from, o.to]);
        let turns = spans.flat_map(|s| [s.0, s.1]).chain(outages).collect();
        Self { source, held, stopped, shut, going, people: people.len(), stays, turns }
    }

    /// Adds a wait to the causes, piece by piece.
    fn add(
        &self,
        carrier: CarrierId,
        ahead: &[Vec<TankId>],
        span: Span,
        by_cause: &mut BTreeMap<Cause, Dur>,
    ) {
        if span.0 >= span.1 {
            return;
        }
        let mut from = span.0;
        let turns = self.turns.range((std::ops::Bound::Excluded(span.0), std::ops::Bound::Excluded(span.1)));
        for to in turns.copied().chain([span.1]) {
            *by_cause.entry(self.cause(carrier, ahead, from)).or_default() += to - from;
            from = to;
        }
    }

    /// `ahead` are the tanks of each step that comes, the next one first.
    fn cause(&self, carrier: CarrierId, ahead: &[Vec<TankId>], t: Time) -> Cause {
        let line = self.source.changed_line();
        let stands = |h: HoistId| self.stopped.iter().any(|(hoist, s)| *hoist == h && covers(s, t));
        let goes = |h: HoistId| self.going.iter().any(|(hoist, s)| *hoist == h && covers(s, t));
        let taken = || self.people > 0 && line.hoists.ids().filter(|h| goes(*h)).count() >= self.people;
        let is_shut = |tank: TankId| self.shut.iter().any(|o| o.tank == tank && o.covers(t));
        let is_taken = |tank: TankId| {
            let others = self.stays.iter().filter(|(k, c, s)| *k == tank && *c != carrier && covers(s, t));
            is_shut(tank)
                || (matches!(line.tanks[tank].role, Role::Bath(_))
                    && others.count() >= usize::from(line.tanks[tank].capacity))
        };
        if self.held.iter().any(|(c, s)| *c == carrier && covers(s, t)) {
            Cause::Held
        } else if line.hoists.ids().all(stands) {
            Cause::Stopped
        } else if ahead
            .first()
            .is_some_and(|next| !next.is_empty() && next.iter().all(|tank| is_taken(*tank)))
        {
            Cause::NoTank
        } else if line.hoists.ids().all(|h| stands(h) || goes(h)) || taken() {
            Cause::Busy
        } else if ahead.iter().any(|step| !step.is_empty() && step.iter().all(|tank| is_shut(*tank))) {
            Cause::ShutAhead
        } else {
            Cause::Free
        }
    }
}

fn begin<I: PartialEq + Copy>(spans: &mut Vec<(I, Span)>, of: I, at: Time, until: Time) {
    end(spans, &of, at);
    spans.push((of, (at, until)));
}

fn end<I: PartialEq>(spans: &mut [(I, Span)], of: &I, at: Time) {
    for (_, span) in spans.iter_mut().filter(|(i, span)| i == of && span.1 > at) {
        span.1 = at;
    }
}

/// The last part of one dwell, as long as it was beyond the shortest; what was put back has several stays.
fn beyond(stays: &[Stay], min: Dur) -> Vec<Span> {
    let all = stays.iter().fold(Dur::ZERO, |sum, s| sum + (s.to - s.from));
    let mut left = (all - min).or_zero();
    let mut spans = Vec::new();
    for stay in stays.iter().rev() {
        let some = left.min(stay.to - stay.from);
        spans.push((stay.to - some, stay.to));
        left -= some;
    }
    spans
}

/// The same waiting, by what stood in the way.
pub(super) fn causes(source: &Source<'_>) -> Part {
    let (line, state) = (source.changed_line(), source.state());
    let meanwhile = Meanwhile::of(source);
    let mut by_cause: BTreeMap<Cause, Dur> = BTreeMap::new();
    for id in state.carriers.ids() {
        for (recipe, stays) in state.runs(id) {
            for dwell in stays.chunk_by(is_rest).filter(|d| is_bath(source, d[0].tank)) {
                let ahead = tanks_ahead(source, recipe, dwell[0].visit);
                let (min, _) = line.window(recipe, dwell[0].visit);
                for span in beyond(dwell, min) {
                    meanwhile.add(id, &ahead, span, &mut by_cause);
                }
            }
        }
    }
    let all = by_cause.values().fold(Dur::ZERO, |sum, d| sum + *d);
    let share = |d: Dur| if all == Dur::ZERO { 0.0 } else { d.as_secs_f64() / all.as_secs_f64() * 100.0 };
    let row = |cause: Cause| {
        let sum = by_cause.get(&cause).copied().unwrap_or_default();
        (sum > Dur::ZERO)
            .then(|| vec![cause.words().to_owned(), sum.to_string(), format!("{:.0} %", share(sum))])
    };
    Part::table(
        "What was in the way meanwhile, the first that holds",
        &["why", "in all", "share"],
        Cause::ALL.into_iter().filter_map(row).collect(),
    )
}

fn is_bath(source: &Source<'_>, tank: TankId) -> bool {
    matches!(source.line.tanks[tank].role, Role::Bath(_))
}

/// Where a load can go on to, step by step, the next one first.
fn tanks_ahead(source: &Source<'_>, recipe: RecipeId, visit: Visit) -> Vec<Vec<TankId>> {
    let line = source.changed_line();
    let ahead = std::iter::successors(line.next_visit(recipe, visit), |v| line.next_visit(recipe, *v));
    ahead.map(|next| line.places_for(recipe, next)).collect()
}
