//! What the next calls are, how long each may wait, and why. Everything said here is read off the plan's own timing
//! network or planned on from; nothing is guessed.

use std::collections::BTreeSet;

use super::Settings;
use super::basis::Basis;
use super::instead::Instead;
use super::margin::lost_may_wait;
use super::problem::Problem;
use super::rail;
use super::reserve::Reserve;
use super::timing::Network;
use super::way::Rules;
use crate::ids::{Arena, CarrierId, HoistId, TankId};
use crate::line::{Line, OrderBook, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State, alarm};
use crate::units::{Dur, Time};

/// One call: a loaded move as the operator is told of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// The move.
    pub mv: Move,
    /// When the hoist should set out for it (empty travel included).
    pub set_out: Time,
    /// The last start of the move with which the rest of the plan still keeps every window; `None` if nothing limits it.
    pub latest_start: Option<Time>,
    /// `latest_start` less the planned start: how long the move may still wait. Negative if it is too late.
    pub slack: Option<Dur>,
    /// The move has an air limit: it must not stop on the way.
    pub critical: bool,
    /// The longest air time allowed, if the move is critical.
    pub air_max: Option<Dur>,
    /// The air time the model expects.
    pub air: Dur,
    /// What limits the move, read off the plan's own timing.
    pub reason: Reason,
    /// Its times rest on the return of a tank that nobody knows.
    pub guess: bool,
    /// What the best other move would cost in its place, once that has been worked out. Only ever for the first call.
    pub instead: Option<Instead>,
}

/// Why a call is what it is, and why it may or may not wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// The load hangs already.
    UnderWay {
        /// When it must begin to go down to keep its air limit.
        by: Option<Time>,
    },
    /// The load hangs and goes back to where it was.
    PutBack {
        /// What its dwell there lacks, if that was too short.
        lacks: Option<Dur>,
    },
    /// The carrier's own window.
    Window {
        /// When it closes.
        closes: Time,
        /// By how much it would be overrun if this other carrier's next move were done first.
        other: Option<(CarrierId, Dur)>,
    },
    /// Another carrier's window: this move comes before the one that ends it.
    Before {
        /// The other carrier.
        carrier: CarrierId,
        /// Where it is.
        tank: TankId,
        /// When its window closes.
        closes: Time,
    },
    /// A window of a stay that has not begun: this move ends the stay, or comes before the one that does.
    Ahead {
        /// The carrier that will stay there.
        carrier: CarrierId,
        /// Where.
        tank: TankId,
        /// The longest dwell.
        longest: Dur,
    },
    /// The tank it leads to is out, and nobody knows until when.
    Lost,
    /// A carrier may start: its whole way is free.
    Release,
    /// Nothing limits the move yet.
    Unlimited,
    /// No plan keeps every window; this carrier's own closes or closed then.
    Broken {
        /// When.
        closes: Time,
    },
    /// No plan keeps every window; this one breaks least.
    LeastHarm,
}

impl Call {
    /// The reason as one line, as it reads at `now`, with the price of the best other move if it is known.
    pub fn reason_at(&self, line: &Line, book: &OrderBook, now: Time) -> String {
        let advice = self.advice(now);
        let Some(instead) = &self.instead else {
            return self.limit_at(self.reason, line, book, now) + advice;
        };
        // One other move is enough; the one that was planned on from says more.
        let reason = match self.reason {
            Reason::Window { closes, .. } => Reason::Window { closes, other: None },
            other => other,
        };
        format!("{}{advice}; {}", self.short_limit(reason, line, book, now), instead.words(line, book))
    }

    /// What a window that is over asks for: the plan has the last word on when that can be done.
    fn advice(&self, now: Time) -> &'static str {
        match self.reason {
            Reason::Broken { closes } if closes < now && self.set_out > now => "; no sooner lift is planned",
            Reason::Broken { closes } if closes < now => "; lift it now",
            _ => "",
        }
    }

    /// The reason in fewer words and without the price, for a list of calls.
    pub fn short_reason_at(&self, line: &Line, book: &OrderBook, now: Time) -> String {
        self.short_limit(self.reason, line, book, now)
    }

    /// The limit in fewer words, so that the price beside it is read whole on a narrow screen.
    fn short_limit(&self, reason: Reason, line: &Line, book: &OrderBook, now: Time) -> String {
        let left = |closes: Time| (closes - now).or_zero();
        match reason {
            Reason::Window { closes, .. } => {
                format!("{} closes in {}", line.tanks[self.mv.from].name, left(closes))
            }
            Reason::Before { carrier, tank, closes } => {
                let (other, tank) = (&book.carriers[carrier].name, &line.tanks[tank].name);
                format!("for {other}: {tank} closes in {}", left(closes))
            }
            Reason::Ahead { carrier, tank, longest } => {
                let tank = &line.tanks[tank].name;
                let own = carrier == self.mv.carrier;
                let whose =
                    if own { String::new() } else { format!("for {}: ", book.carriers[carrier].name) };
                format!("{whose}{tank} allows {longest}")
            }
            Reason::Lost => format!("{} is out, nobody knows until when", line.tanks[self.mv.to].name),
            Reason::UnderWay { by: Some(by) } if by < now && self.air_max.is_some() => {
                "past its air limit".to_owned()
            }
            Reason::Broken { closes } if closes >= now => {
                format!("{} closes in {}, too soon", line.tanks[self.mv.from].name, closes - now)
            }
            Reason::Broken { closes } if !matches!(self.mv.leaves, Visit::Stray { .. }) => {
                format!("{} over in {}", now - closes, line.tanks[self.mv.from].name)
            }
            Reason::Release => "its whole way is free".to_owned(),
            Reason::LeastHarm => "this order breaks least".to_owned(),
            other => self.limit_at(other, line, book, now),
        }
    }

    fn limit_at(&self, reason: Reason, line: &Line, book: &OrderBook, now: Time) -> String {
        let place = |tank: TankId| format!("{} {}", line.tanks[tank].name, line.tanks[tank].label);
        let name = |carrier: CarrierId| book.carriers[carrier].name.as_str();
        let from = place(self.mv.from);
        match reason {
            Reason::UnderWay { by } => match self.air_max {
                Some(max) if by.is_some_and(|t| t < now) => {
                    format!("under way and past its air limit of {max}: lower it now")
                }
                Some(max) => format!("under way: air limit {max}, do not stop"),
                None => "under way: put it down".to_owned(),
            },
            Reason::PutBack { lacks } => {
                let air =
                    self.air_max.map_or_else(String::new, |max| format!("; air limit {max}, do not stop"));
                match lacks {
                    Some(by) => format!("{} too short in {from}: put it back{air}", by.up_to_second()),
                    None => format!("going on would spoil more: put it back into {from}{air}"),
                }
            }
            Reason::Window { closes, other } => {
                let closes = format!("{from} closes in {}", (closes - now).or_zero());
                match other {
                    Some((other, by)) => format!("{closes}; {} first would overrun it by {by}", name(other)),
                    None => closes,
                }
            }
            Reason::Before { carrier, tank, closes } => {
                let (other, tank) = (name(carrier), place(tank));
                format!("comes before {other} leaves {tank}, which closes in {}", (closes - now).or_zero())
            }
            Reason::Ahead { carrier, longest, .. } if carrier == self.mv.carrier => {
                format!("{from} allows {longest}")
            }
            Reason::Ahead { carrier, tank, longest } => {
                format!("comes before {} leaves {}, which allows {longest}", name(carrier), place(tank))
            }
            Reason::Lost => {
                format!("{} is out, nobody knows until when: this time is a guess", place(self.mv.to))
            }
            Reason::Release => {
                format!("{} may start: its whole way is free", name(self.mv.carrier))
            }
            Reason::Unlimited => "no window presses yet".to_owned(),
            Reason::Broken { closes } if closes < now && matches!(self.mv.leaves, Visit::Stray { .. }) => {
                let name = name(self.mv.carrier);
                format!("{name} hangs in {from}, not as its sheet says, for {}", now - closes)
            }
            Reason::Broken { closes } if closes < now => {
                format!("{} is {} over in {from}", name(self.mv.carrier), now - closes)
            }
            Reason::Broken { closes } => {
                format!("{from} closes in {}; not every window can be kept", closes - now)
            }
            Reason::LeastHarm => "not every window can be kept; this order breaks least".to_owned(),
        }
    }
}

const LOOSE: Rules = Rules { reserve: Reserve::NONE };

/// The next `count` calls of a schedule. For a carrier that hangs on a hook already the first call is its place.
pub fn calls(line: &Line, state: &State, schedule: &Schedule, now: Time, count: usize) -> Vec<Call> {
    // What nobody knows limits nothing here.
    let settings = Settings { stop: Dur(1), out: Dur(1), ..Settings::default() };
    let basis = Basis::of(line, state, schedule, now, &settings);
    let problem = lost_may_wait(&Problem::new(&basis, now));
    let line = state.line(line);
    let to_come = remaining(state, schedule).moves;
    let inner = basis.inward(&Schedule { moves: to_come.clone(), made_at: now }).moves;
    let network = Some(&inner).filter(|i| i.len() == to_come.len());
    let mut network = network.and_then(|moves| Network::new(&problem, moves, &LOOSE));
    if let Some(network) = &mut network {
        // What hangs on a hoist that stands still is down when that runs, and all that follows has its time from then on.
        for (i, m) in inner.iter().enumerate().filter(|(_, m)| on_hook(state, m)) {
            network.not_before(i, m.start);
        }
        let starts: Vec<Time> = inner.iter().map(|m| m.start).collect();
        if !network.lets(&starts) || network.earliest().is_none() {
            // What is broken becomes worse with every second: what comes before it has no time because it is lost.
            network.give_way_to(&starts);
        }
    }
    let latest = network.as_ref().map(Network::latest);
    let mut calls: Vec<Call> = Vec::new();
    // Who is on a way that leads through a tank nobody knows the return of.
    let mut on_a_guess: BTreeSet<CarrierId> = BTreeSet::new();
    for (i, mv) in to_come.iter().take(count).enumerate() {
        let Some(phases) = mv.phases(line, &state.book) else { continue };
        let recipe = state.book.carriers[mv.carrier].recipe;
        let air_max = Some(line.air_max(recipe, mv.leaves)).filter(|a| !a.is_unlimited());
        let closes = own_deadline(line, state, mv).or_else(|| planned_deadline(line, state, &to_come, i));
        let own = closes.map(|d| d - phases.to_lift());
        // What is lost may wait for good, and so may what comes before it.
        let of_all = latest.as_ref().map(|(at, _)| at[i]).filter(|t| *t < now + Dur::LONGEST);
        let at = to_come[..i]
            .iter()
            .rev()
            .find(|m| m.hoist == mv.hoist)
            .map_or(state.hoists[mv.hoist].at, |m| m.to);
        let travel = line.empty_travel(mv.hoist, at, mv.from).unwrap_or(Dur::ZERO);
        let reason = match &latest {
            _ if on_hook(state, mv) => under_way(line, state, mv),
            Some((_, limited_by)) => reason(line, state, &to_come, limited_by, i, now),
            None => {
                own_deadline(line, state, mv).map_or(Reason::LeastHarm, |closes| Reason::Broken { closes })
            }
        };
        // What is over was over at one instant, however the rest of the plan is put off.
        let limits = if matches!(reason, Reason::Broken { .. }) { [own, None] } else { [own, of_all] };
        let latest_start = limits.into_iter().flatten().min();
        let is_lost = state.tanks[mv.to].lost.is_some();
        if is_lost {
            on_a_guess.insert(mv.carrier);
        }
        calls.push(Call {
            mv: *mv,
            set_out: mv.start - travel,
            latest_start,
            slack: latest_start.map(|t| t - mv.start.max(now)),
            critical: air_max.is_some(),
            air_max,
            air: phases.air(),
            reason: if is_lost { Reason::Lost } else { reason },
            guess: on_a_guess.contains(&mv.carrier),
            instead: None,
        });
    }
    if let Some(urgent) = network.and_then(|_| more_urgent(&problem, &inner, &calls)) {
        let call = calls.remove(urgent);
        calls.insert(0, call);
    }
    calls
}

/// The first call of another hoist that may wait less than the first of all, where neither comes in the way of the other:
/// whoever confirms them one after the other is not to wait for the one that has time.
fn more_urgent(problem: &Problem, moves: &[Move], calls: &[Call]) -> Option<usize> {
    let first = calls.first()?;
    let limit = |call: &Call| call.latest_start.unwrap_or(Time::FAR);
    let haul = |call: &Call| {
        let own = moves.iter().filter(|m| m.carrier == call.mv.carrier);
        let last = own.clone().position(|m| m.release)?;
        problem.haul_of(&own.take(last + 1).copied().collect::<Vec<_>>())
    };
    if on_hook(problem.state, &first.mv) {
        return None;
    }
    let leading = haul(first)?;
    let (stand, _) = problem.stand(first.mv.hoist);
    let firsts = calls.iter().enumerate().filter(|(ix, call)| {
        let mut before = calls[..*ix].iter();
        before.all(|c| c.mv.hoist != call.mv.hoist) && call.mv.carrier != first.mv.carrier
    });
    let at_once = firsts.filter(|(_, call)| {
        limit(call) < limit(first)
            && call.mv.start < first.mv.start + leading.total
            && call.mv.to != first.mv.from
            && haul(call).is_some_and(|own| {
                [leading.path, stand].iter().all(|other| problem.rail.lag(*other, own.path) == rail::FREE)
            })
    });
    at_once.min_by_key(|(_, call)| limit(call)).map(|(ix, _)| ix)
}

/// What is left of a plan: for each carrier the moves from where it is. Nothing for a carrier the plan does not know
/// there.
pub fn remaining(state: &State, plan: &Schedule) -> Schedule {
    let mut ahead: Arena<CarrierId, bool> = state.carriers.iter().map(|_| false).collect();
    let moves = plan.moves.iter().filter(|m| {
        let ahead = &mut ahead[m.carrier];
        *ahead = *ahead || starts_at(m, state.carriers[m.carrier].place);
        *ahead
    });
    Schedule { moves: moves.copied().collect(), made_at: plan.made_at }
}

fn starts_at(m: &Move, place: Place) -> bool {
    match place {
        Place::Queued => m.leaves == Visit::Load && !m.is_put_back(),
        Place::InTank { tank, visit, .. } => m.from == tank && m.leaves == visit && !m.is_put_back(),
        Place::OnHook { from, leaves, .. } => m.from == from && m.leaves == leaves,
        Place::Finished { .. } | Place::OffLine => false,
    }
}

fn on_hook(state: &State, mv: &Move) -> bool {
    matches!(state.carriers[mv.carrier].place, Place::OnHook { leaves, .. } if leaves == mv.leaves)
}

/// What limits how late move `i` may be, if it is not a window its carrier is in: the window that the last move of the chain
/// ends, or, where the chain leads back to before this move, the first window on the chain that has not begun.
fn limit(
    line: &Line,
    state: &State,
    to_come: &[Move],
    limited_by: &[Option<usize>],
    i: usize,
) -> Option<Reason> {
    let next = |k: &usize| limited_by[*k];
    let chain: Vec<usize> = std::iter::successors(Some(i), next).take(limited_by.len()).collect();
    let end = *chain.last()?;
    let (own, last) = (&to_come[i], &to_come[end]);
    if end > i
        && last.carrier != own.carrier
        && let Some(closes) = own_deadline(line, state, last)
    {
        if closes < lifted(line, state, last) {
            return Some(Reason::LeastHarm);
        }
        return Some(Reason::Before { carrier: last.carrier, tank: last.from, closes });
    }
    if own.leaves == Visit::Load {
        return None;
    }
    let ahead = chain.windows(2).find(|pair| pair[1] < pair[0])?;
    let ends = &to_come[ahead[0]];
    let (_, longest) = line.window(state.book.carriers[ends.carrier].recipe, ends.leaves);
    if broken_ahead(line, state, to_come, ahead[0]).is_some() {
        return Some(Reason::LeastHarm);
    }
    let told = Reason::Ahead { carrier: ends.carrier, tank: ends.from, longest };
    Some(told).filter(|_| !longest.is_unlimited())
}

/// When a move ends the stay it leads out of.
fn lifted(line: &Line, state: &State, mv: &Move) -> Time {
    mv.start + mv.phases(line, &state.book).map_or(Dur::ZERO, |p| p.to_lift())
}

/// The end of the window a carrier is in now, if the move takes it out of it.
fn own_deadline(line: &Line, state: &State, mv: &Move) -> Option<Time> {
    match state.carriers[mv.carrier].place {
        Place::InTank { tank, visit, since, .. } if tank == mv.from && visit == mv.leaves => {
            let (_, max) = line.window(state.book.carriers[mv.carrier].recipe, visit);
            (!max.is_unlimited()).then_some(since + max)
        }
        _ => None,
    }
}

/// The end of the window of a stay that a move before move `i` begins, if all goes as planned until then.
fn planned_deadline(line: &Line, state: &State, to_come: &[Move], i: usize) -> Option<Time> {
    let mv = &to_come[i];
    let before = to_come[..i].iter().rev().find(|m| m.carrier == mv.carrier)?;
    let (_, max) = line.window(state.book.carriers[mv.carrier].recipe, mv.leaves);
    let had = if before.is_put_back() { state.carriers[mv.carrier].dwelled(mv.leaves) } else { Dur::ZERO };
    let down = before.start + before.phases(line, &state.book)?.to_down();
    (!max.is_unlimited()).then_some(down + max - had)
}

/// The same, if move `i` ends that stay too late.
fn broken_ahead(line: &Line, state: &State, to_come: &[Move], i: usize) -> Option<Time> {
    planned_deadline(line, state, to_come, i).filter(|closes| *closes < lifted(line, state, &to_come[i]))
}

fn under_way(line: &Line, state: &State, mv: &Move) -> Reason {
    if !mv.is_put_back() {
        return Reason::UnderWay { by: alarm::lower_by(line, state, mv.carrier) };
    }
    let short = alarm::left_too_soon(line, state, mv.carrier);
    Reason::PutBack { lacks: short.map(|s| s.min - s.dwell) }
}

/// The reason for move `i`: a window that the plan keeps, or that it breaks one.
fn reason(
    line: &Line,
    state: &State,
    to_come: &[Move],
    limited_by: &[Option<usize>],
    i: usize,
    now: Time,
) -> Reason {
    let mv = &to_come[i];
    if let Some(closes) = own_deadline(line, state, mv) {
        if closes < lifted(line, state, mv).max(now) {
            return Reason::Broken { closes };
        }
        return Reason::Window { closes, other: other_first(line, state, to_come, mv, closes, now) };
    }
    if let Some(closes) = broken_ahead(line, state, to_come, i) {
        return Reason::Broken { closes };
    }
    let unlimited = if mv.leaves == Visit::Load { Reason::Release } else { Reason::Unlimited };
    limit(line, state, to_come, limited_by, i).unwrap_or(unlimited)
}

/// By how much the window of `mv` would be overrun if the next other call of the same hoist were done first.
fn other_first(
    line: &Line,
    state: &State,
    to_come: &[Move],
    mv: &Move,
    deadline: Time,
    now: Time,
) -> Option<(CarrierId, Dur)> {
    let other = to_come.iter().find(|m| m.hoist == mv.hoist && m.carrier != mv.carrier)?;
    let begins = earliest_start(line, state, other, now)?;
    let ends = begins + other.phases(line, &state.book)?.total();
    let lift =
        ends + line.empty_travel(mv.hoist, other.to, mv.from)? + mv.phases(line, &state.book)?.to_lift();
    (lift > deadline).then(|| (other.carrier, lift - deadline))
}

fn earliest_start(line: &Line, state: &State, mv: &Move, now: Time) -> Option<Time> {
    let hoist: HoistId = mv.hoist;
    let h = &state.hoists[hoist];
    let there = h.free_from.max(now) + line.empty_travel(hoist, h.at, mv.from)?;
    Some(match state.carriers[mv.carrier].place {
        Place::InTank { visit, since, .. } => {
            let (min, _) = line.window(state.book.carriers[mv.carrier].recipe, visit);
            there.max(since + min - mv.phases(line, &state.book)?.to_lift())
        }
        _ => there,
    })
}
