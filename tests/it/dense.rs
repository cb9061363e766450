//! An instance as bare numbers, for solvers that know nothing of lines: what one hoist may do with each carrier, one
//! haul after the other, with every choice of tanks, how long each takes and how long the carrier may stay in between.
//!
//! Worked out from the line's raw figures, without the planner. Left out: standby (a carrier is not started into a
//! wait), several hoists, tanks with room for more than one, tanks that come or go, power. A dip on the hook lasts its
//! target and is part of a haul.

use serde::Serialize;

use dwellhand::ids::{CarrierId, HoistId, Id as _, StepNo, TankId};
use dwellhand::line::{EntrySide, Line, OrderBook, Role, Visit};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::units::{Dur, Time};

/// Places by number, times in milliseconds.
#[derive(Debug, Clone, Serialize)]
pub struct Dense {
    /// Where the hoist stands at the opening.
    pub home: usize,
    /// Empty travel from place to place.
    pub empty: Vec<Vec<i64>>,
    /// True where there is room for all that wait.
    pub station: Vec<bool>,
    /// What has to be brought out.
    pub carriers: Vec<Carrier>,
}

/// One carrier's way through the line.
#[derive(Debug, Clone, Serialize)]
pub struct Carrier {
    /// When it may first be hooked.
    pub ready: i64,
    /// Carriers with the same number are alike in everything.
    pub kind: usize,
    /// From load to unload.
    pub hauls: Vec<Haul>,
    /// Shortest and longest dwell between each haul and the next; no longest is -1.
    pub windows: Vec<(i64, i64)>,
}

/// What a hoist does without letting go.
#[derive(Debug, Clone, Serialize)]
pub struct Haul {
    /// From the start until the carrier it hooks begins to rise.
    pub lift: i64,
    /// Every choice of tanks that keeps the air limits.
    pub ways: Vec<Way>,
}

/// One choice of tanks for a haul.
#[derive(Debug, Clone, Serialize)]
pub struct Way {
    /// Picked up here.
    pub from: usize,
    /// Put down here.
    pub to: usize,
    /// From the start until it is down.
    pub down: i64,
    /// From the start until the hoist has let go.
    pub total: i64,
    /// Where it is dipped on the way.
    pub dips: Vec<usize>,
    #[serde(skip)]
    legs: Vec<Leg>,
}

#[derive(Debug, Clone)]
struct Leg {
    from: TankId,
    to: TankId,
    leaves: Visit,
    visit: Visit,
    offset: Dur,
    attach: bool,
    release: bool,
}

const HOIST: HoistId = HoistId(0);

impl Dense {
    /// The numbers of an instance.
    pub fn new(line: &Line, book: &OrderBook) -> Self {
        assert_eq!(line.hoists.len(), 1, "one hoist is all this knows");
        assert!(line.power_cap.is_none(), "power is not part of this");
        let empty = |a: TankId, b: TankId| line.empty_travel(HOIST, a, b).map_or(-1, |d| d.0);
        let places = || line.tanks.ids();
        let kinds: Vec<_> = book
            .carriers
            .iter()
            .map(|(_, c)| {
                let side = match book.orders[c.order].entry {
                    EntrySide::Any => None,
                    EntrySide::At(t) => Some(t),
                };
                (c.recipe, c.ready, side)
            })
            .collect();
        let carriers = book
            .carriers
            .ids()
            .map(|c| {
                let mut carrier = carrier(line, book, c);
                carrier.kind = kinds.iter().position(|k| *k == kinds[c.ix()]).expect("it is one of them");
                carrier
            })
            .collect();
        Self {
            home: line.hoists[HOIST].home.ix(),
            empty: places().map(|a| places().map(|b| empty(a, b)).collect()).collect(),
            station: line.tanks.iter().map(|(_, t)| matches!(t.role, Role::Station { .. })).collect(),
            carriers,
        }
    }

    /// The moves that haul starts and choices of tanks mean.
    pub fn schedule(&self, line: &Line, chosen: &[Vec<(usize, i64)>]) -> Schedule {
        assert_eq!(line.hoists.len(), 1);
        let mut moves = Vec::new();
        for (c, hauls) in chosen.iter().enumerate() {
            for (k, (way, start)) in hauls.iter().enumerate() {
                moves.extend(self.carriers[c].hauls[k].ways[*way].legs.iter().map(|leg| Move {
                    carrier: CarrierId::at(c),
                    hoist: HOIST,
                    from: leg.from,
                    to: leg.to,
                    leaves: leg.leaves,
                    visit: leg.visit,
                    start: Time(*start) + leg.offset,
                    attach: leg.attach,
                    release: leg.release,
                }));
            }
        }
        Schedule::new(moves, Time::ZERO)
    }
}

fn carrier(line: &Line, book: &OrderBook, id: CarrierId) -> Carrier {
    let spec = &book.carriers[id];
    let recipe = &line.recipes[spec.recipe];
    let places = |visit: Visit| -> Vec<TankId> {
        let fits = |role: Role| match (visit, role) {
            (Visit::Load, Role::Station { load, .. }) => load,
            (Visit::Unload, Role::Station { unload, .. }) => unload,
            (Visit::Step(n), Role::Bath(stage)) => stage == recipe.steps[n.ix()].stage,
            _ => false,
        };
        let entry = book.orders[spec.order].entry;
        let kept = |t: &TankId| visit != Visit::Load || entry == EntrySide::Any || entry == EntrySide::At(*t);
        line.tanks.iter().filter(|(_, t)| fits(t.role)).map(|(id, _)| id).filter(kept).collect()
    };
    let mut visits = vec![Visit::Load];
    visits.extend((0..recipe.steps.len()).map(|n| Visit::Step(StepNo::at(n))));
    visits.push(Visit::Unload);
    let step = |visit: Visit| match visit {
        Visit::Step(n) => Some(&recipe.steps[n.ix()]),
        _ => None,
    };
    let hooked = |visit: Visit| step(visit).is_some_and(|s| s.on_hook);

    let mut hauls = Vec::new();
    let mut windows = Vec::new();
    let mut begun: Vec<Way> = Vec::new();
    for pair in visits.windows(2) {
        let (leaves, visit) = (pair[0], pair[1]);
        let (attach, release) = (!hooked(leaves), !hooked(visit));
        let (drip, air_max) = step(leaves).map_or((Dur::ZERO, Dur::UNLIMITED), |s| (s.drip, s.air_max));
        if attach {
            let start = |t: TankId| Way {
                from: t.ix(),
                to: t.ix(),
                down: 0,
                total: 0,
                dips: Vec::new(),
                legs: Vec::new(),
            };
            begun = places(leaves).into_iter().map(start).collect();
        }
        let mut longer = Vec::new();
        for so_far in &begun {
            let from = TankId::at(so_far.to);
            for to in places(visit) {
                let Some(phases) = line.phases(HOIST, from, to, drip, attach, release) else { continue };
                if phases.air() > air_max {
                    continue;
                }
                let mut way = so_far.clone();
                if !attach {
                    way.total += step(leaves).map_or(0, |s| s.target.0);
                    way.dips.push(from.ix());
                }
                let offset = Dur(way.total);
                way.legs.push(Leg { from, to, leaves, visit, offset, attach, release });
                way.down = way.total + phases.to_down().0;
                way.total += phases.total().0;
                way.to = to.ix();
                longer.push(way);
            }
        }
        begun = longer;
        if release {
            let ways = std::mem::take(&mut begun);
            hauls.push(Haul { lift: line.hoists[HOIST].hook.0, ways });
            if let Some(s) = step(visit) {
                windows.push((s.min.0, if s.max.is_unlimited() { -1 } else { s.max.0 }));
            }
        }
    }
    Carrier { ready: spec.ready.0, kind: 0, hauls, windows }
}
