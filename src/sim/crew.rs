//! The simulated crew. It reads the calls as a person would and answers with the commands a person would confirm.
//!
//! Its figures are invented for practice, not measured: a crew that is quick, a little uneven, now and then distracted
//! and very rarely wrong.

use super::trouble::Stop;
use crate::ids::{CarrierId, HoistId, Seq, TankId};
use crate::line::{Line, Phases, Role, Visit};
use crate::plan::Call;
use crate::rng::Rng;
use crate::shift::{Command, Place, State};
use crate::units::{Dur, Time};

/// How a crew works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Median time between the planned start and the hand on the hook.
    pub reaction: Dur,
    /// Spread of the reaction: standard deviation of its logarithm.
    pub reaction_spread: f64,
    /// How long every loaded move takes in the middle against the model.
    pub slower: f64,
    /// Relative spread of every loaded move.
    pub move_spread: f64,
    /// Chance per pick of being distracted for up to two minutes.
    pub distracted: f64,
    /// Chance per place of putting the carrier in the wrong tank.
    pub wrong_tank: f64,
    /// Chance per pick of taking the wrong carrier.
    pub wrong_carrier: f64,
    /// Chance per confirmation of pressing the key late, with the true time given.
    pub late_key: f64,
}

impl Pace {
    /// Does everything exactly as planned.
    pub const PUNCTUAL: Self = Self {
        reaction: Dur::ZERO,
        reaction_spread: 0.0,
        slower: 1.0,
        move_spread: 0.0,
        distracted: 0.0,
        wrong_tank: 0.0,
        wrong_carrier: 0.0,
        late_key: 0.0,
    };
    /// A good crew on an ordinary day.
    pub const HUMAN: Self = Self {
        reaction: Dur(1500),
        reaction_spread: 0.5,
        slower: 1.0,
        move_spread: 0.05,
        distracted: 0.01,
        wrong_tank: 0.002,
        wrong_carrier: 0.002,
        late_key: 0.01,
    };
}

/// What a decision was made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Occasion {
    carrier: CarrierId,
    leaves: Visit,
    from: TankId,
    lifted: Option<Time>,
}

/// What was drawn for the next pick or place, whichever carrier it will be: what delays a person does not depend on who
/// decides the moves. So the same seed means the same slips under every policy, one confirmation after the other.
#[derive(Debug, Clone, Copy)]
struct Draw {
    /// The last confirmation before it.
    after: Option<Seq>,
    reaction: Dur,
    distracted: Dur,
    stretch: f64,
    key_delay: Dur,
    wrong_tank: bool,
    wrong_carrier: bool,
    /// What it is used for now.
    occasion: Option<Occasion>,
    /// When the plan wants the move to begin; settled once that moment has come.
    begins: Time,
    /// The hoist is on its way there.
    set_out: bool,
    /// When a move was first due: from then on distraction counts, even if another move is wanted meanwhile.
    since: Option<Time>,
    /// The key that will be pressed, and when it was really done.
    doing: Option<(Time, Time, Key)>,
}

/// A pick or a place.
#[derive(Debug, Clone, Copy)]
enum Key {
    Lift { carrier: CarrierId, hoist: HoistId, from: TankId },
    Lower { hoist: HoistId, to: TankId },
}

impl Key {
    fn at(self, at: Time) -> Command {
        match self {
            Self::Lift { carrier, hoist, from } => Command::Lift { carrier, hoist, from, at },
            Self::Lower { hoist, to } => Command::Lower { hoist, to, at },
        }
    }
}

/// A crew at work.
#[derive(Debug, Clone)]
pub struct Crew {
    pace: Pace,
    rng: Rng,
    stops: Vec<Stop>,
    draw: Option<Draw>,
}

impl Crew {
    /// A crew with its own random stream under `seed`.
    pub fn new(pace: Pace, seed: u64) -> Self {
        Self { pace, rng: Rng::stream(seed, "crew"), stops: Vec::new(), draw: None }
    }

    /// True if it does everything as called.
    pub fn is_punctual(&self) -> bool {
        self.pace == Pace::PUNCTUAL
    }

    /// The same crew with a crane that stands still now and then; by time and apart from each other. Nobody is told:
    /// the crew just does not get on.
    #[must_use]
    pub fn with_stops(mut self, stops: &[Stop]) -> Self {
        self.stops = stops.to_vec();
        self
    }

    /// What the crew does next if nothing changes: when it presses the key, and what for.
    pub fn next(&mut self, line: &Line, state: &State, calls: &[Call], now: Time) -> Option<(Time, Command)> {
        let mut draw = self.draw_after(state.last_physical);
        // What is done is done; the key may be late, and another call comes too late for it.
        if let Some((done, press, command)) = draw.doing
            && done < now
        {
            return Some((press.max(now), command.at(done)));
        }
        draw.doing = None;
        self.draw = Some(draw);
        let call = calls.first()?;
        let mv = call.mv;
        let phases = mv.phases(line, &state.book)?;
        let lifted = match state.carriers[mv.carrier].place {
            Place::OnHook { lifted, leaves, .. } if leaves == mv.leaves => Some(lifted),
            _ => None,
        };
        draw.turn_to(Occasion { carrier: mv.carrier, leaves: mv.leaves, from: mv.from, lifted }, call, now);
        let (done, command) = if let Some(lifted) = lifted {
            let done = self.after_stops(lifted, lifted + stretched(&phases, draw.stretch));
            let to = if draw.wrong_tank { some_free_tank(line, state, call) } else { None };
            (done, Key::Lower { hoist: mv.hoist, to: to.unwrap_or(mv.to) })
        } else {
            let done = self.after_stops(draw.begins, draw.hand(mv.attach) + phases.to_lift());
            let slips = draw.wrong_carrier && mv.attach;
            let instead = if slips { some_other_carrier(line, state, call) } else { None };
            let (carrier, from) = instead.unwrap_or((mv.carrier, mv.from));
            (done, Key::Lift { carrier, hoist: mv.hoist, from })
        };
        // A moment that has passed while the plan shifted is now.
        let press = (done + draw.key_delay).max(now);
        let done = done.max(press - draw.key_delay);
        draw.doing = Some((done, press, command));
        self.draw = Some(draw);
        Some((press, command.at(done)))
    }

    /// When something that would go on from `from` to `until` is over, crane stops counted in.
    fn after_stops(&self, from: Time, until: Time) -> Time {
        let mut end = until;
        for stop in self.stops.iter().filter(|s| from < s.until) {
            if end > stop.from {
                end += stop.until - stop.from.max(from);
            }
        }
        end
    }

    /// The draw for what comes after a confirmation. Always takes the same number of random numbers.
    fn draw_after(&mut self, after: Option<Seq>) -> Draw {
        if let Some(draw) = self.draw.filter(|d| d.after == after) {
            return draw;
        }
        let pace = self.pace;
        let reaction = pace.reaction.as_secs_f64() * (pace.reaction_spread * self.rng.normal()).exp();
        let distracted = (self.rng.chance(pace.distracted), self.rng.below(100));
        let stretch = pace.slower * (1.0 + pace.move_spread * self.rng.normal()).clamp(0.8, 1.5);
        let late = (self.rng.chance(pace.late_key), self.rng.below(40));
        let seconds = |(it_is, of): (bool, usize), at_least: i64| {
            Dur::from_secs(if it_is { at_least + of as i64 } else { 0 })
        };
        let draw = Draw {
            after,
            reaction: Dur::from_secs_f64(reaction),
            distracted: seconds(distracted, 20),
            stretch,
            key_delay: seconds(late, 5),
            wrong_tank: self.rng.chance(pace.wrong_tank),
            wrong_carrier: self.rng.chance(pace.wrong_carrier),
            occasion: None,
            begins: Time::PAST,
            set_out: false,
            since: None,
            doing: None,
        };
        self.draw = Some(draw);
        draw
    }
}

impl Draw {
    /// Follows what is wanted now.
    fn turn_to(&mut self, occasion: Occasion, call: &Call, now: Time) {
        let sets_out = call.set_out <= now;
        if self.occasion == Some(occasion) {
            if now < self.begins {
                // Who has set out arrives when that takes, however often the plan is made anew meanwhile: a plan knows only
                // where the hoist was put down last.
                let on_its_way = self.set_out && sets_out;
                self.begins = if on_its_way { self.begins.min(call.mv.start) } else { call.mv.start };
                self.set_out = sets_out;
            }
            return;
        }
        if self.occasion.is_some() && self.begins <= now {
            self.since.get_or_insert(self.begins);
        }
        self.occasion = Some(occasion);
        self.begins = call.mv.start;
        self.set_out = sets_out;
    }

    /// When the hand is on the hook.
    fn hand(&self, attach: bool) -> Time {
        // During a dip the hand is on the key already.
        if !attach {
            return self.begins + Dur(self.reaction.0 / 3);
        }
        let attentive = self.since.unwrap_or(self.begins) + self.reaction + self.distracted;
        attentive.max(self.begins + self.reaction)
    }
}

/// The carrier in the nearest other tank.
fn some_other_carrier(line: &Line, state: &State, call: &Call) -> Option<(CarrierId, TankId)> {
    let right = line.tanks[call.mv.from].position;
    state
        .carriers
        .iter()
        .filter_map(|(id, c)| match c.place {
            Place::InTank { tank, hooked: None, .. } if id != call.mv.carrier => Some((id, tank)),
            _ => None,
        })
        .filter(|(_, tank)| line.reaches(call.mv.hoist, *tank))
        .min_by_key(|(_, tank)| (line.tanks[*tank].position - right).abs())
}

/// The empty tank next to the right one: the slip people make.
fn some_free_tank(line: &Line, state: &State, call: &Call) -> Option<TankId> {
    let right = line.tanks[call.mv.to].position;
    line.tanks
        .iter()
        .filter(|(id, t)| {
            *id != call.mv.to
                && matches!(t.role, Role::Bath(_))
                && line.reaches(call.mv.hoist, *id)
                && state.carriers_in(*id).next().is_none()
        })
        .min_by_key(|(_, t)| (t.position - right).abs())
        .map(|(id, _)| id)
}

fn stretched(phases: &Phases, stretch: f64) -> Dur {
    let nominal = phases.to_down() - phases.to_lift();
    Dur::from_secs_f64(nominal.as_secs_f64() * stretch)
}
