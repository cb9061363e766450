//! The simulated crew. It reads the calls as a person would and answers with the commands a person would confirm.
//!
//! Its figures are invented for practice, not measured: a crew that is quick, a little uneven, now and then distracted
//! and very rarely wrong.

use crate::ids::{CarrierId, TankId};
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
        move_spread: 0.05,
        distracted: 0.01,
        wrong_tank: 0.002,
        wrong_carrier: 0.002,
        late_key: 0.01,
    };
}

/// What a decision was made for; a new one is drawn only when this changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Occasion {
    carrier: CarrierId,
    leaves: Visit,
    from: TankId,
    lifted: Option<Time>,
}

/// What was drawn for an occasion.
#[derive(Debug, Clone, Copy)]
struct Draw {
    occasion: Occasion,
    /// When the plan wants the move to begin; settled once that moment has come.
    begins: Time,
    delay: Dur,
    stretch: f64,
    key_delay: Dur,
    to: Option<TankId>,
    instead: Option<(CarrierId, TankId)>,
}

/// A crew at work.
#[derive(Debug, Clone)]
pub struct Crew {
    pace: Pace,
    rng: Rng,
    draw: Option<Draw>,
}

impl Crew {
    /// A crew with its own random stream under `seed`.
    pub fn new(pace: Pace, seed: u64) -> Self {
        Self { pace, rng: Rng::stream(seed, "crew"), draw: None }
    }

    /// What the crew does next if nothing changes: when it presses the key, and what for.
    pub fn next(&mut self, line: &Line, state: &State, calls: &[Call], now: Time) -> Option<(Time, Command)> {
        let call = calls.first()?;
        let mv = call.mv;
        let phases = mv.phases(line, &state.book)?;
        let place = state.carriers[mv.carrier].place;
        let lifted = match place {
            Place::OnHook { lifted, leaves, .. } if leaves == mv.leaves => Some(lifted),
            _ => None,
        };
        let occasion = Occasion { carrier: mv.carrier, leaves: mv.leaves, from: mv.from, lifted };
        let draw = self.draw_for(line, state, occasion, call, now);
        let (done, command) = if let Some(lifted) = lifted {
            let done = lifted + stretched(&phases, draw.stretch);
            (done, Command::Lower { hoist: mv.hoist, to: draw.to.unwrap_or(mv.to), at: done })
        } else {
            let done = draw.begins + draw.delay + phases.to_lift();
            // The wrong one may have been moved meanwhile; then the slip did not happen.
            let instead = draw.instead.filter(|(c, t)| stands_in(state, *c, *t));
            let (carrier, from) = instead.unwrap_or((mv.carrier, mv.from));
            (done, Command::Lift { carrier, hoist: mv.hoist, from, at: done })
        };
        let press = done + draw.key_delay;
        // A moment that has passed while the plan shifted is now.
        if press < now {
            Some((now, at(command, done.max(now - draw.key_delay))))
        } else {
            Some((press, command))
        }
    }

    fn draw_for(&mut self, line: &Line, state: &State, occasion: Occasion, call: &Call, now: Time) -> Draw {
        if let Some(draw) = &mut self.draw
            && draw.occasion == occasion
        {
            if now < draw.begins {
                draw.begins = call.mv.start;
            }
            return *draw;
        }
        let pace = self.pace;
        let mut delay = self.spread(pace.reaction, pace.reaction_spread);
        // During a dip the hand is on the key already.
        if !call.mv.attach {
            delay = Dur(delay.0 / 3);
        } else if occasion.lifted.is_none() && self.rng.chance(pace.distracted) {
            delay += Dur::from_secs(20 + self.rng.below(100) as i64);
        }
        let stretch = (1.0 + pace.move_spread * self.rng.normal()).clamp(0.8, 1.5);
        let key_delay = if self.rng.chance(pace.late_key) {
            Dur::from_secs(5 + self.rng.below(40) as i64)
        } else {
            Dur::ZERO
        };
        let wrong = occasion.lifted.is_some() && self.rng.chance(pace.wrong_tank);
        let to = if wrong { some_free_tank(line, state, call) } else { None };
        let slips = occasion.lifted.is_none() && call.mv.attach && self.rng.chance(pace.wrong_carrier);
        let instead = if slips { some_other_carrier(line, state, call) } else { None };
        let draw = Draw { occasion, begins: call.mv.start, delay, stretch, key_delay, to, instead };
        self.draw = Some(draw);
        draw
    }

    fn spread(&mut self, median: Dur, sigma: f64) -> Dur {
        if median == Dur::ZERO {
            return Dur::ZERO;
        }
        Dur::from_secs_f64(median.as_secs_f64() * (sigma * self.rng.normal()).exp())
    }
}

/// True if a carrier stands free in a tank.
fn stands_in(state: &State, carrier: CarrierId, tank: TankId) -> bool {
    matches!(state.carriers[carrier].place, Place::InTank { tank: t, hooked: None, .. } if t == tank)
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

fn at(command: Command, at: Time) -> Command {
    match command {
        Command::Lift { carrier, hoist, from, .. } => Command::Lift { carrier, hoist, from, at },
        Command::Lower { hoist, to, .. } => Command::Lower { hoist, to, at },
        other => other,
    }
}
