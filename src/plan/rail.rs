//! Hoists on one rail: how long after one hoist's haul another hoist's haul may begin.
//!
//! For haul A before haul B of another hoist there is a least lag, start to start, from which on nothing meets. Three
//! things set it, with the lower hoist on the left and the gap taken off:
//!
//! 1. While both are at work, A must not be beyond B.
//! 2. After A its hoist gets away in front of B, at its own speed and able to stop.
//! 3. Before B its hoist comes from beyond whatever A still does.
//!
//! A hoist that has nothing to do can always stay beyond both its neighbours if every two hauls keep these lags: it leaves
//! at once, waits at the farthest place it is asked to, and comes back as late as it may. Two idle hoists then run the
//! same way with the same profile, that of the slower one. The lag is the largest that fails, so what lies below it may
//! still be free now and then: A just ahead of B into the same place. That much is left lying.
//!
//! Tanks and power that a haul leaves and another one takes are in the lag as well, so that the order of starts is the
//! order of stays whatever the hoist.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use super::problem::Leg;
use crate::ids::{Arena, HoistId, Id as _, TankId};
use crate::line::{Line, Role, Travel, ramp_time};
use crate::shift::HoistState;
use crate::units::{Dur, Mm};

/// No lag at all: the two may overlap as they like, either one first.
pub(super) const FREE: i64 = i64::MIN / 8;
/// No lag is long enough.
pub(super) const NEVER: i64 = i64::MAX / 8;

const UNKNOWN: i64 = i64::MIN;

/// Travel is looked at this often, in milliseconds; what lies between two looks counts as taken.
const GRAIN: i64 = 100;

/// Below this many millimetres a difference is rounding.
const HAIR: f64 = 0.01;

/// A haul as the rail sees it; alike for all hauls that take the same hoist the same way in the same times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct PathId(u32);

/// Where a hoist is from the start to the end of a haul, and what it does to tanks and power.
struct Path {
    hoist: HoistId,
    from: TankId,
    to: TankId,
    /// Milliseconds from the start and millimetres; between two of them the hoist goes one way only.
    knots: Vec<(i64, f64)>,
    /// The highest and the lowest position from each knot on.
    top: Vec<f64>,
    bottom: Vec<f64>,
    /// Tanks that are left, with the instant they are clear, and tanks that are gone into, with the lift for them.
    leaves: Vec<(TankId, i64)>,
    enters: Vec<(TankId, i64)>,
    /// When power goes off in what is left, and on in what is gone into, if it does.
    off: Option<i64>,
    on: Option<i64>,
    /// The hoist hangs on to the carrier before the haul begins and cannot give way.
    held: bool,
}

impl Path {
    fn total(&self) -> i64 {
        self.knots[self.knots.len() - 1].0
    }

    /// The stretches between knots and the last knot itself: begin, end, lowest and highest position, seen from the
    /// side `sign` stands for.
    fn stretches(&self, sign: f64) -> impl Iterator<Item = (i64, i64, f64, f64)> {
        (0..self.knots.len()).map(move |k| {
            let (t, x) = self.knots[k];
            let (u, y) = self.knots[(k + 1).min(self.knots.len() - 1)];
            let (x, y) = (sign * x, sign * y);
            (t, u, x.min(y), x.max(y))
        })
    }

    /// No later than then the hoist is above `limit` for the last time; `None` if it never is.
    fn last_above(&self, limit: f64, sign: f64) -> Option<i64> {
        let above = |k: usize| if sign > 0.0 { self.top[k] > limit } else { -self.bottom[k] > limit };
        let (mut low, mut high) = (0, self.knots.len());
        while low < high {
            let middle = usize::midpoint(low, high);
            if above(middle) { low = middle + 1 } else { high = middle }
        }
        (low > 0).then(|| self.knots[low.min(self.knots.len() - 1)].0)
    }
}

#[derive(Default)]
struct Memo {
    known: BTreeMap<Vec<i64>, PathId>,
    paths: Vec<Path>,
}

/// The rail of a line with everything worked out on it so far.
pub(super) struct Rail<'a> {
    line: &'a Line,
    /// The longest time a hoist may need to give way.
    sweep: i64,
    memo: RefCell<Memo>,
    /// `lags[before][next]`, as far as anybody asked.
    lags: RefCell<Vec<Vec<i64>>>,
    longest: Cell<i64>,
}

impl<'a> Rail<'a> {
    pub fn new(line: &'a Line) -> Self {
        let whole = line.rail.to - line.rail.from + Mm(line.rail.gap.0 * line.hoists.len() as i64);
        let (v, a, d) = slowest(line.hoists.iter().map(|(_, h)| &h.travel));
        let table = line.hoists.iter().filter_map(|(_, h)| match &h.travel {
            Travel::Table { empty, .. } => empty.iter().flatten().flatten().max().map(|d| d.0),
            Travel::Kinematic { .. } => None,
        });
        let ramp = if v < f64::MAX { ramp_time(whole, v, a, d).0 } else { 0 };
        let sweep = table.max().unwrap_or(0).max(ramp);
        let (memo, lags) = (RefCell::default(), RefCell::default());
        Self { line, sweep, memo, lags, longest: Cell::new(0) }
    }

    /// True if one hoist has the rail to itself.
    pub fn is_alone(&self) -> bool {
        self.line.hoists.len() == 1
    }

    /// True if a hoist that stands over a tank leaves the hoists on both sides their part of the rail.
    pub fn leaves_room(&self, hoist: HoistId, tank: TankId) -> bool {
        let rail = &self.line.rail;
        let x = self.line.tanks[tank].position;
        let below = hoist.ix() as i64;
        let above = self.line.hoists.len() as i64 - 1 - below;
        self.is_alone() || ((x - rail.from).0 >= rail.gap.0 * below && (rail.to - x).0 >= rail.gap.0 * above)
    }

    /// The path of a haul. `draws` says whether what is left and what is gone into last draw capped power.
    pub fn path(&self, hoist: HoistId, legs: &[Leg], draws: (bool, bool)) -> PathId {
        if self.is_alone() {
            return PathId(0);
        }
        let mut key = vec![hoist.ix() as i64, i64::from(draws.0), i64::from(draws.1)];
        for leg in legs {
            let p = &leg.phases;
            key.extend([leg.from.ix() as i64, leg.to.ix() as i64, i64::from(leg.attach)]);
            key.extend(
                [leg.offset, p.to_lift(), p.to_clear(), p.drip, p.travel, p.to_down(), p.total()]
                    .map(|d| d.0),
            );
        }
        self.known(key, || self.travelled(hoist, legs, draws))
    }

    /// Where each hoist is at `now`: where it put down or lifted last, or further away if another hoist has been at work
    /// there since and must have found the way clear.
    pub fn whereabouts(&self, hoists: &Arena<HoistId, HoistState>) -> Vec<Mm> {
        let gap = self.line.rail.gap.0;
        let mut latest: Vec<HoistId> = hoists.ids().collect();
        latest.sort_by_key(|h| std::cmp::Reverse(hoists[*h].free_from));
        let mut found: Vec<Option<Mm>> = vec![None; latest.len()];
        for hoist in latest {
            let mut x = self.line.tanks[hoists[hoist].at].position;
            for (other, theirs) in found.iter().enumerate().filter_map(|(k, x)| Some((k, (*x)?))) {
                let apart = Mm(gap * (hoist.ix() as i64 - other as i64));
                x = if apart > Mm(0) { x.max(theirs + apart) } else { x.min(theirs + apart) };
            }
            found[hoist.ix()] = Some(x);
        }
        found.into_iter().flatten().collect()
    }

    /// The path of a hoist that has to stay where it is for a while and may then go; `tank` is the one it was at last.
    pub fn standing(&self, hoist: HoistId, tank: TankId, place: Mm, time: Dur) -> PathId {
        if self.is_alone() {
            return PathId(0);
        }
        let x = place.0 as f64;
        let mut knots = vec![(0, x)];
        if time > Dur::ZERO {
            knots.push((time.0, x));
        }
        self.known(vec![-1, hoist.ix() as i64, tank.ix() as i64, place.0, time.0], || Path {
            hoist,
            from: tank,
            to: tank,
            top: vec![x; knots.len()],
            bottom: vec![x; knots.len()],
            knots,
            leaves: Vec::new(),
            enters: Vec::new(),
            off: None,
            on: None,
            held: false,
        })
    }

    fn known(&self, key: Vec<i64>, make: impl FnOnce() -> Path) -> PathId {
        let mut memo = self.memo.borrow_mut();
        if let Some(id) = memo.known.get(&key) {
            return *id;
        }
        let id = PathId(memo.paths.len() as u32);
        let path = make();
        self.longest.set(self.longest.get().max(path.total()));
        memo.paths.push(path);
        self.lags.borrow_mut().push(Vec::new());
        memo.known.insert(key, id);
        id
    }

    fn travelled(&self, hoist: HoistId, legs: &[Leg], draws: (bool, bool)) -> Path {
        let x = |tank: TankId| self.line.tanks[tank].position.0 as f64;
        let (first, last) = (&legs[0], &legs[legs.len() - 1]);
        let mut knots = vec![(0, x(first.from))];
        for leg in legs {
            let leave = (leg.offset + leg.phases.to_clear() + leg.phases.drip).0;
            let (here, gone) = (x(leg.from), x(leg.to) - x(leg.from));
            let travel = leg.phases.travel.0;
            knots.push((leave, here));
            for t in (GRAIN..travel).step_by(GRAIN as usize) {
                let done = match &self.line.hoists[hoist].travel {
                    Travel::Kinematic { speed, accel, decel } => {
                        covered(gone.abs(), t as f64 / 1000.0, *speed, *accel, *decel)
                    }
                    Travel::Table { .. } => gone.abs() * t as f64 / travel as f64,
                };
                knots.push((leave + t, here + gone.signum() * done));
            }
            knots.push((leave + travel, x(leg.to)));
            knots.push(((leg.offset + leg.phases.total()).0, x(leg.to)));
        }
        let (mut top, mut bottom) = (Vec::new(), Vec::new());
        for &(_, x) in knots.iter().rev() {
            top.push(top.last().map_or(x, |t: &f64| t.max(x)));
            bottom.push(bottom.last().map_or(x, |b: &f64| b.min(x)));
        }
        top.reverse();
        bottom.reverse();
        let bath = |tank: &TankId| !matches!(self.line.tanks[*tank].role, Role::Station { .. });
        let at = |leg: &Leg, instant: Dur| (leg.offset + instant).0;
        let leaves = legs.iter().map(|l| (l.from, at(l, l.phases.to_clear())));
        let enters = legs.iter().map(|l| (l.to, at(l, l.phases.to_lift())));
        Path {
            hoist,
            from: first.from,
            to: last.to,
            knots,
            top,
            bottom,
            leaves: leaves.filter(|(t, _)| bath(t)).collect(),
            enters: enters.filter(|(t, _)| bath(t)).collect(),
            off: draws.0.then(|| at(first, first.phases.to_lift())),
            on: draws.1.then(|| at(last, last.phases.to_down())),
            held: !first.attach,
        }
    }

    /// The least lag from the start of `before` to the start of `next`, a haul of another hoist, in milliseconds;
    /// [`FREE`] or [`NEVER`] if there is no figure.
    pub fn lag(&self, before: PathId, next: PathId) -> i64 {
        let (a, b) = (before.0 as usize, next.0 as usize);
        if let Some(&lag) = self.lags.borrow()[a].get(b)
            && lag != UNKNOWN
        {
            return lag;
        }
        let memo = self.memo.borrow();
        let lag = self.worked_out(&memo.paths[a], &memo.paths[b]);
        let row = &mut self.lags.borrow_mut()[a];
        row.resize(memo.paths.len(), UNKNOWN);
        row[b] = lag;
        lag
    }

    /// How long a haul takes.
    pub fn total(&self, path: PathId) -> i64 {
        self.memo.borrow().paths[path.0 as usize].total()
    }

    /// No lag between hauls known so far is longer than this.
    pub fn longest_lag(&self) -> i64 {
        self.longest.get() + self.sweep + GRAIN
    }

    fn worked_out(&self, a: &Path, b: &Path) -> i64 {
        let mut lag = self.apart(a, b);
        for (tank, clear) in &a.leaves {
            for (_, lift) in b.enters.iter().filter(|(t, _)| t == tank) {
                lag = lag.max(clear - lift + 1).max(1);
            }
        }
        if a.to == b.from {
            lag = lag.max(a.total());
        }
        if let (Some(off), Some(on)) = (a.off, b.on) {
            lag = lag.max(off - on).max(1);
        }
        lag
    }

    /// The lag from which on the two hoists do not meet.
    fn apart(&self, a: &Path, b: &Path) -> i64 {
        let line = self.line;
        let sign = if a.hoist < b.hoist { 1.0 } else { -1.0 };
        let between = (a.hoist.ix() as i64 - b.hoist.ix() as i64).abs();
        let gap = (line.rail.gap.0 * between) as f64 - HAIR;
        let (end, begin) = (sign * a.knots[a.knots.len() - 1].1, sign * b.knots[0].1);
        let yielding = Yielding::new(line, a, b, sign);
        let mut lag = FREE;
        for (u, _, lowest, _) in b.stretches(sign) {
            let over = end + gap - lowest;
            let until = if over > 0.0 {
                Some(a.total() + yielding.leave(over))
            } else {
                a.last_above(lowest - gap, sign)
            };
            lag = lag.max(until.map_or(FREE, |t| t - u));
        }
        for (_, until, _, highest) in a.stretches(sign) {
            let over = highest + gap - begin;
            // What begins in the way of a hoist that holds on has begun before that came.
            if over > 0.0 && b.held && sign * a.knots[0].1 + gap <= begin {
                return NEVER;
            }
            if over > 0.0 {
                lag = lag.max(until + yielding.come(over));
            }
        }
        lag
    }
}

/// How long the hoist of one haul takes to get out of the way and that of the next to come.
struct Yielding<'a> {
    line: &'a Line,
    a: &'a Path,
    b: &'a Path,
    sign: f64,
    profile: (f64, f64, f64),
}

impl<'a> Yielding<'a> {
    fn new(line: &'a Line, a: &'a Path, b: &'a Path, sign: f64) -> Self {
        let profile = slowest([a, b].into_iter().map(|p| &line.hoists[p.hoist].travel));
        Self { line, a, b, sign, profile }
    }

    fn ramp(&self, over: f64) -> i64 {
        let (v, a, d) = self.profile;
        ramp_time(Mm(over.ceil() as i64), v, a, d).0
    }

    fn x(&self, tank: TankId) -> f64 {
        self.sign * self.line.tanks[tank].position.0 as f64
    }

    /// From the end of the haul before until its hoist is `over` millimetres further down.
    fn leave(&self, over: f64) -> i64 {
        match &self.line.hoists[self.a.hoist].travel {
            Travel::Kinematic { .. } => self.ramp(over),
            Travel::Table { empty, .. } => {
                let from = self.a.to;
                let limit = self.x(from) - over;
                let figures: Vec<(TankId, i64)> =
                    self.line.tanks.ids().filter_map(|t| Some((t, empty[from.ix()][t.ix()]?.0))).collect();
                nearest(&figures, |t| self.x(t) <= limit)
            }
        }
    }

    /// From `over` millimetres further up to the beginning of the next haul.
    fn come(&self, over: f64) -> i64 {
        match &self.line.hoists[self.b.hoist].travel {
            Travel::Kinematic { .. } => self.ramp(over),
            Travel::Table { empty, .. } => {
                let to = self.b.from;
                let limit = self.x(to) + over;
                let figures: Vec<(TankId, i64)> =
                    self.line.tanks.ids().filter_map(|t| Some((t, empty[t.ix()][to.ix()]?.0))).collect();
                nearest(&figures, |t| self.x(t) >= limit)
            }
        }
    }
}

/// The least of the figures for tanks that do; a table says nothing about the rail beyond the last tank, so the largest of
/// all if none does.
fn nearest(figures: &[(TankId, i64)], does: impl Fn(TankId) -> bool) -> i64 {
    let least = figures.iter().filter(|(t, _)| does(*t)).map(|(_, d)| *d).min();
    least.or_else(|| figures.iter().map(|(_, d)| *d).max()).unwrap_or(0)
}

/// Top speed and accelerations that all of them reach; tables have none.
fn slowest<'t>(travels: impl Iterator<Item = &'t Travel>) -> (f64, f64, f64) {
    travels.fold((f64::MAX, f64::MAX, f64::MAX), |(v, a, d), travel| match travel {
        Travel::Kinematic { speed, accel, decel } => (v.min(*speed), a.min(*accel), d.min(*decel)),
        Travel::Table { .. } => (v, a, d),
    })
}

/// Millimetres covered `t` seconds into a run of `distance` millimetres from standstill to standstill.
fn covered(distance: f64, t: f64, v: f64, a: f64, d: f64) -> f64 {
    let metres = distance / 1000.0;
    let peak = v.min((2.0 * metres * a * d / (a + d)).sqrt());
    let (up, out) = (peak / a, peak / d);
    let cruise = (metres - peak * (up + out) / 2.0).max(0.0) / peak;
    let left = up + cruise + out - t;
    let done = if t <= up {
        a * t * t / 2.0
    } else if left >= out {
        peak * up / 2.0 + peak * (t - up)
    } else {
        metres - d * left.max(0.0).powi(2) / 2.0
    };
    1000.0 * done
}
