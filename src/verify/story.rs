//! What the schedule says will happen, told once with the verifier's own arithmetic for all rules to read.

use super::motion::{self, Instants, Job};
use super::sheet::Sheet;
use super::{Breach, Rule};
use crate::ids::{CarrierId, HoistId, TankId};
use crate::line::{Harm, Line, Role, Visit};
use crate::schedule::{Move, Schedule};
use crate::shift::{Place, State};
use crate::units::{Dur, Time};

/// One loaded move with its instants.
pub struct Leg {
    pub mv: Move,
    pub t: Instants,
    /// When the raise really began: in the past for a carrier that is on the hook now.
    pub lifted: Time,
    /// The move was under way when the plan was made.
    pub under_way: bool,
    /// False if no time is known for it; its instants then hold no travel.
    pub timed: bool,
}

impl Leg {
    pub fn job(&self, drip: Dur) -> Job {
        let Move { hoist, from, to, attach, release, .. } = self.mv;
        Job { hoist, from, to, drip, attach, release }
    }
}

/// One immersion, or the time at the unload station.
pub struct Soak {
    pub carrier: CarrierId,
    pub tank: TankId,
    pub visit: Visit,
    /// From when on the tank is taken for it.
    pub claimed: Time,
    /// When the immersion began.
    pub down: Time,
    /// Dwell for the same visit before that, of a carrier that is put back; what is there already has it counted in.
    pub dwelled: Dur,
    /// When it ends, the tank is clear, and the hoist that took it out is free; `None` if the plan leaves it there.
    pub out: Option<Out>,
    /// It was there when the plan was made.
    pub already: bool,
    /// The hoist that brings it.
    pub by: Option<HoistId>,
}

#[derive(Clone, Copy)]
pub struct Out {
    pub lift: Time,
    pub clear: Time,
    pub free: Time,
    pub by: HoistId,
}

pub struct Story<'a> {
    pub line: &'a Line,
    pub state: &'a State,
    pub made_at: Time,
    /// By carrier, then by start.
    pub legs: Vec<Leg>,
    pub soaks: Vec<Soak>,
}

impl<'a> Story<'a> {
    pub fn tell(line: &'a Line, state: &'a State, schedule: &Schedule, found: &mut Vec<Breach>) -> Self {
        let mut story = Self { line, state, made_at: schedule.made_at, legs: Vec::new(), soaks: Vec::new() };
        for mv in &schedule.moves {
            if let Some(leg) = story.leg(mv, schedule, found) {
                story.legs.push(leg);
            }
        }
        story.legs.sort_by_key(|l| (l.mv.carrier, l.mv.start));
        for carrier in state.carriers.ids() {
            let soaks = story.soaks_of(carrier);
            story.soaks.extend(soaks);
        }
        story
    }

    fn leg(&self, mv: &Move, schedule: &Schedule, found: &mut Vec<Breach>) -> Option<Leg> {
        let known = self.state.carriers.get(mv.carrier).is_some()
            && self.line.hoists.get(mv.hoist).is_some()
            && self.line.tanks.get(mv.from).is_some()
            && self.line.tanks.get(mv.to).is_some()
            && self.sheet(mv.carrier).is_some_and(|s| s.knows(mv.leaves) && s.knows(mv.visit));
        if !known {
            found.push(Breach {
                rule: Rule::Chain,
                harm: None,
                carrier: self
                    .state
                    .book
                    .carriers
                    .get(mv.carrier)
                    .map_or_else(|| format!("{:?}", mv.carrier), |c| c.name.clone()),
                place: String::new(),
                at: mv.start,
                by: Dur::ZERO,
                text: format!("the move at {} names something that does not exist: {mv:?}", mv.start),
                open_ended: false,
            });
            return None;
        }
        let drip = self.sheet(mv.carrier)?.drip(mv.leaves);
        let Move { hoist, from, to, attach, release, .. } = *mv;
        let job = Job { hoist, from, to, drip, attach, release };
        let timed = motion::loaded(self.line, &job, mv.start);
        let t = timed.unwrap_or(Instants {
            start: mv.start,
            lift: mv.start,
            clear: mv.start,
            leave: mv.start,
            arrive: mv.start,
            lower: mv.start,
            down: mv.start,
            end: mv.start,
        });
        let first = || schedule.moves.iter().filter(|m| m.carrier == mv.carrier).all(|m| m.start >= mv.start);
        let (lifted, under_way) = match self.state.carriers[mv.carrier].place {
            Place::OnHook { lifted, .. } if first() => (lifted, true),
            _ => (t.lift, false),
        };
        Some(Leg { mv: *mv, t, lifted, under_way, timed: timed.is_some() })
    }

    fn soaks_of(&self, carrier: CarrierId) -> Vec<Soak> {
        let legs = self.legs_of(carrier);
        let out = |k: usize| {
            legs.get(k).map(|l| Out { lift: l.t.lift, clear: l.t.clear, free: l.t.end, by: l.mv.hoist })
        };
        let mut soaks = Vec::new();
        if let Place::InTank { tank, visit, since, .. } = self.state.carriers[carrier].place {
            let claimed = Time::PAST;
            soaks.push(Soak {
                carrier,
                tank,
                visit,
                claimed,
                down: since,
                dwelled: Dur::ZERO,
                out: out(0),
                already: true,
                by: None,
            });
        }
        for (k, leg) in legs.iter().enumerate() {
            soaks.push(Soak {
                carrier,
                tank: leg.mv.to,
                visit: leg.mv.visit,
                claimed: if leg.under_way { leg.t.lower } else { leg.t.lift },
                down: leg.t.down,
                dwelled: if leg.mv.visit == leg.mv.leaves {
                    self.dwelled(carrier, leg.mv.visit)
                } else {
                    Dur::ZERO
                },
                out: out(k + 1),
                already: false,
                by: Some(leg.mv.hoist),
            });
        }
        soaks
    }

    /// Dwell that a carrier has had for the visit it was lifted out of.
    fn dwelled(&self, carrier: CarrierId, visit: Visit) -> Dur {
        let same = |v: Visit| v == visit && !matches!(v, Visit::Stray { .. });
        let stays = self.state.carriers[carrier].stays.iter().rev();
        stays.take_while(|s| same(s.visit)).fold(Dur::ZERO, |sum, s| sum + (s.to - s.from).or_zero())
    }

    /// The moves of a carrier by start.
    pub fn legs_of(&self, carrier: CarrierId) -> &[Leg] {
        let from = self.legs.partition_point(|l| l.mv.carrier < carrier);
        let until = self.legs.partition_point(|l| l.mv.carrier <= carrier);
        &self.legs[from..until]
    }

    /// The moves of a hoist by start.
    pub fn legs_by(&self, hoist: HoistId) -> Vec<&Leg> {
        let mut legs: Vec<&Leg> = self.legs.iter().filter(|l| l.mv.hoist == hoist).collect();
        legs.sort_by_key(|l| (l.mv.start, l.t.end));
        legs
    }

    /// Until when the hoist is bound to the carrier after this move: past its end if it stays attached.
    pub fn bound_until(&self, leg: &Leg) -> Time {
        if leg.mv.release {
            return leg.t.end;
        }
        let legs = self.legs_of(leg.mv.carrier);
        let next = legs.iter().position(|l| std::ptr::eq(l, leg)).and_then(|k| legs.get(k + 1));
        next.map_or(Time::FAR, |l| l.mv.start.max(leg.t.end))
    }

    pub fn sheet(&self, carrier: CarrierId) -> Option<Sheet<'a>> {
        Sheet::of(self.line, self.state.book.carriers.get(carrier)?.recipe)
    }

    pub fn carrier(&self, carrier: CarrierId) -> String {
        self.state.book.carriers[carrier].name.clone()
    }

    pub fn hoist(&self, hoist: HoistId) -> String {
        self.line.hoists[hoist].name.clone()
    }

    pub fn tank(&self, tank: TankId) -> String {
        self.line.tanks[tank].name.clone()
    }

    /// Name and label, for sentences.
    pub fn tank_in_words(&self, tank: TankId) -> String {
        let t = &self.line.tanks[tank];
        if t.label.is_empty() || t.label == t.name {
            t.name.clone()
        } else {
            format!("{} {}", t.name, t.label)
        }
    }

    pub fn is_station(&self, tank: TankId) -> bool {
        matches!(self.line.tanks[tank].role, Role::Station { .. })
    }

    /// A breach of one carrier at one place.
    pub fn breach(
        &self,
        rule: Rule,
        harm: Option<Harm>,
        carrier: CarrierId,
        place: String,
        (at, by): (Time, Dur),
        text: String,
    ) -> Breach {
        Breach { rule, harm, carrier: self.carrier(carrier), place, at, by, text, open_ended: false }
    }
}
