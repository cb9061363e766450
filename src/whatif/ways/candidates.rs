//! Options, made of what is so: what the plan breaks if nothing is changed, who stands in the way, what comes next.

use super::trouble::{Trouble, lateness, risks};
use super::what::What;
use crate::ids::{CarrierId, Id as _, OrderId, StepNo};
use crate::line::{Harm, Line, Priority, Visit};
use crate::plan::Settings;
use crate::shift::{Place, State, Window};
use crate::units::{Dur, Time};
use crate::verify::Breach;
use crate::whatif::Prospect;

/// The most that are looked into.
pub const MOST: usize = 16;

/// How many loads at risk are looked into, worst first, and how many that stand in their way.
const AT_RISK: usize = 3;
const IN_THE_WAY: usize = 2;

/// What breaks later than this is left to later.
const SOON: Dur = Dur::from_mins(90);

/// A trouble that nobody knows the end of, and the time to get over one.
const AWHILE: Dur = Dur::from_mins(10);

/// To take a load off by hand takes this long: it is told so much before its window ends. Common practice, no source.
const BY_HAND: Dur = Dur::from_mins(3);

/// The trouble with what it does.
pub struct Jam<'a> {
    line: &'a Line,
    state: &'a State,
    nothing: &'a Prospect,
    now: Time,
    trouble: &'a Trouble,
    /// Loads at risk with what breaks first, worst harm first.
    at_risk: Vec<(CarrierId, &'a Breach)>,
    /// Loads in the tanks that those need next.
    in_the_way: Vec<CarrierId>,
    /// When the worst of it is over if nothing is changed.
    over: Time,
}

impl<'a> Jam<'a> {
    /// `line` is the one that changes have made, `nothing` how the shift goes on if nothing is changed.
    pub fn of(
        line: &'a Line,
        state: &'a State,
        trouble: &'a Trouble,
        nothing: &'a Prospect,
        now: Time,
        settings: &Settings,
    ) -> Self {
        let mut at_risk = risks(state, &nothing.breaches);
        at_risk.retain(|(_, b)| b.at <= now + SOON);
        let broken = at_risk.iter().map(|(_, b)| b.at + b.by).max();
        let ends = match trouble {
            Trouble::StoppedHoist { hoist, .. } => {
                state.standing.stopped.get(hoist).map(|s| s.back(now, settings.stop) + AWHILE)
            }
            Trouble::TankLost { until, .. } => until.filter(|t| *t <= now + SOON),
            Trouble::Window { .. } | Trouble::Promise { .. } => None,
        };
        let over = broken.max(ends).unwrap_or(now + AWHILE).min(now + SOON);
        at_risk.truncate(AT_RISK);
        let mut in_the_way: Vec<CarrierId> = Vec::new();
        for (carrier, _) in &at_risk {
            let recipe = state.book.carriers[*carrier].recipe;
            let (Place::InTank { visit, .. } | Place::OnHook { leaves: visit, .. }) =
                state.carriers[*carrier].place
            else {
                continue;
            };
            let next = line.next_visit(recipe, visit).filter(|v| matches!(v, Visit::Step(_)));
            let tanks = next.map_or_else(Vec::new, |v| line.places_for(recipe, v));
            for other in tanks.into_iter().flat_map(|t| state.carriers_in(t)) {
                if other != *carrier && !in_the_way.contains(&other) {
                    in_the_way.push(other);
                }
            }
        }
        in_the_way.truncate(IN_THE_WAY);
        Self { line, state, nothing, now, trouble, at_risk, in_the_way, over }
    }

    /// What could be done, likely ways first; whether it may be done is decided where it is priced.
    pub fn candidates(&self) -> Vec<What> {
        let mut all: Vec<What> = self.concerned().filter_map(|carrier| self.kept(carrier)).collect();
        all.extend(self.gates());
        all.extend(self.concerned().map(|carrier| What::Park { carrier, until: self.over }));
        all.extend(self.orders());
        all.extend(self.concerned().filter_map(|c| self.windows(c)));
        all.extend(self.doomed());
        all.truncate(MOST);
        all
    }

    fn concerned(&self) -> impl Iterator<Item = CarrierId> {
        let at_risk = self.at_risk.iter().map(|(c, _)| *c);
        at_risk.chain(self.in_the_way.iter().copied().filter(|c| self.at_risk.iter().all(|(r, _)| r != c)))
    }

    /// What somebody has said of a load may be what spoils it.
    fn kept(&self, carrier: CarrierId) -> Option<What> {
        let standing = &self.state.standing;
        let parked = standing.parked.contains_key(&carrier);
        (parked || standing.held.contains_key(&carrier)).then_some(What::GoOn { carrier, parked })
    }

    /// The next to start, and all that would start before the worst is over.
    fn gates(&self) -> Vec<What> {
        let starts = self.nothing.schedule.moves.iter();
        let starts = starts.filter(|m| m.leaves == Visit::Load && m.start < self.over);
        let queued = starts.map(|m| m.carrier).filter(|c| self.state.carriers[*c].place == Place::Queued);
        let carriers: Vec<CarrierId> = queued.collect();
        let gate = |n: usize| What::Gate { carriers: carriers[..n].to_vec(), until: self.over };
        match carriers.len() {
            0 => Vec::new(),
            1 => vec![gate(1)],
            n => vec![gate(1), gate(n)],
        }
    }

    /// Another order of starts: a rush for the latest order, which leaves the plan most freedom; what is late before all
    /// else; the next but one before the next.
    fn orders(&self) -> Vec<What> {
        let mut late: Vec<OrderId> =
            lateness(self.line, self.state, &self.nothing.schedule).into_iter().map(|(o, _)| o).collect();
        if let Trouble::Promise { order, .. } = self.trouble {
            late.insert(0, *order);
        }
        late.retain(|o| !self.waiting(*o).is_empty());
        let orders = &self.state.book.orders;
        let ordinary = late.iter().find(|o| orders[**o].priority != Priority::Rush);
        let rush = ordinary.map(|&order| What::Rush { order, due: orders[order].due });
        let first = late.first().map(|o| What::First { carriers: self.waiting(*o) });
        let mut starts = self.nothing.schedule.moves.iter().filter(|m| m.leaves == Visit::Load);
        let order = |c: CarrierId| self.state.book.carriers[c].order;
        let swapped = starts.next().and_then(|next| {
            let then = starts.find(|m| order(m.carrier) != order(next.carrier))?;
            Some(What::First { carriers: vec![then.carrier, next.carrier] })
        });
        [rush, first, swapped].into_iter().flatten().collect()
    }

    /// The carriers of an order that have not started.
    fn waiting(&self, order: OrderId) -> Vec<CarrierId> {
        let queued = |c: &CarrierId| {
            self.state.carriers[*c].place == Place::Queued && self.state.book.carriers[*c].order == order
        };
        self.state.carriers.ids().filter(queued).collect()
    }

    /// The step a load is in and those ahead, where its window is narrower than its sheet or a dip aims for more than the
    /// shortest: the next such step.
    fn windows(&self, carrier: CarrierId) -> Option<What> {
        let from = match self.state.carriers[carrier].place {
            Place::InTank { visit: Visit::Step(n), .. } => n.ix(),
            Place::InTank { visit: Visit::Hold(n), .. }
            | Place::OnHook { leaves: Visit::Step(n) | Visit::Hold(n), .. } => n.ix() + 1,
            _ => return None,
        };
        let recipe = self.state.book.carriers[carrier].recipe;
        let sheet = self.state.sheet(recipe);
        let steps = self.line.recipes[recipe].steps.len();
        (from..steps.min(self.line.recipes[sheet].steps.len())).map(StepNo::at).find_map(|step| {
            let (has, may) = (self.line.step(recipe, step), self.line.step(sheet, step));
            let narrow = has.min > may.min || has.max < may.max;
            // Only a dip is planned for its target; elsewhere the shortest dwell is the plan's aim already.
            let long = has.on_hook && has.target > may.min;
            let window = Window { min: may.min, target: may.min, max: may.max };
            (narrow || long).then_some(What::Dwell { carrier, step, window })
        })
    }

    /// What can be done with loads that are spoiled whatever else is done. Where only the length of a stop that nobody knows
    /// would spoil a load it is not given up before there is hardly time left to reach it.
    fn doomed(&self) -> Vec<What> {
        let guessed = matches!(self.trouble, Trouble::StoppedHoist { until: None, .. });
        let mut all = Vec::new();
        for (carrier, breach) in self.at_risk.iter().filter(|(_, b)| !guessed || b.at <= self.now + BY_HAND) {
            // A load that hangs is nobody's to reach for.
            if !matches!(self.state.carriers[*carrier].place, Place::InTank { hooked: None, .. }) {
                continue;
            }
            let own = self.state.sheet(self.state.book.carriers[*carrier].recipe);
            if breach.harm == Some(Harm::Rework) {
                let again = self.line.recipes.ids().find(|r| self.line.restarts(*r, own));
                all.extend(again.map(|recipe| What::Rework { carrier: *carrier, recipe }));
            }
            if breach.harm <= Some(Harm::Rework) {
                all.push(What::TakeOff { carrier: *carrier });
            }
        }
        all
    }
}
