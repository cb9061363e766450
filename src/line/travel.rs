//! The timing of one loaded move and of empty travel (design: one function, the same everywhere).

use super::{Hoist, Lift, Line, Travel};
use crate::ids::{HoistId, Id, TankId};
use crate::units::{Dur, Mm};

/// The phases of one loaded move, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Phases {
    /// Taking hold; zero if the hoist was attached already.
    pub hook: Dur,
    /// Raise; the immersion in the tank that is left ends when it starts.
    pub raise: Dur,
    /// Dripping over the tank that is left.
    pub drip: Dur,
    /// Travel along the rail.
    pub travel: Dur,
    /// Waiting for the load to hang still.
    pub settle: Dur,
    /// Lower; the next immersion begins when it is done.
    pub lower: Dur,
    /// Letting go; zero if the hoist stays attached.
    pub unhook: Dur,
}

impl Phases {
    /// Out of liquid: from raise done to lower begun.
    pub fn air(&self) -> Dur {
        self.drip + self.travel + self.settle
    }
    /// From the start of the move to the end of the immersion that is left.
    pub fn to_lift(&self) -> Dur {
        self.hook
    }
    /// From the start of the move until the tank that is left is clear.
    pub fn to_clear(&self) -> Dur {
        self.hook + self.raise
    }
    /// From the start of the move to the beginning of the next immersion.
    pub fn to_down(&self) -> Dur {
        self.hook + self.raise + self.air() + self.lower
    }
    /// From hook to unhook: how long the hoist is busy.
    pub fn total(&self) -> Dur {
        self.to_down() + self.unhook
    }
}

/// Time to cover a distance from standstill to standstill with top speed `v` (m/s), acceleration `a` and
/// deceleration `d` (m/s2): a trapezoid, or a triangle when the distance is too short to reach top speed.
pub fn ramp_time(distance: Mm, v: f64, a: f64, d: f64) -> Dur {
    let metres = distance.abs().0 as f64 / 1000.0;
    let s = 1.0 / a + 1.0 / d;
    let seconds =
        if metres >= v * v * s / 2.0 { metres / v + v * s / 2.0 } else { (2.0 * metres * s).sqrt() };
    // A hair above, so that half a millisecond on paper rounds the same way whatever the order of the arithmetic.
    Dur::from_secs_f64(seconds + 1e-9)
}

impl Hoist {
    /// Times of raise and lower.
    pub fn raise_lower(&self) -> (Dur, Dur) {
        match self.lift {
            Lift::Kinematic { height, speed, accel } => {
                let t = ramp_time(height, speed, accel, accel);
                (t, t)
            }
            Lift::Fixed { raise, lower } => (raise, lower),
        }
    }
}

impl Line {
    /// True if the hoist can stand over the tank.
    pub fn reaches(&self, hoist: HoistId, tank: TankId) -> bool {
        let h = &self.hoists[hoist];
        let at = self.tanks[tank].position;
        h.reach_from <= at && at <= h.reach_to
    }

    /// Empty travel between two tanks; zero at the same tank, `None` where the hoist cannot go or a table is silent.
    pub fn empty_travel(&self, hoist: HoistId, from: TankId, to: TankId) -> Option<Dur> {
        if !self.reaches(hoist, to) {
            return None;
        }
        if from == to {
            return Some(Dur::ZERO);
        }
        match &self.hoists[hoist].travel {
            Travel::Kinematic { speed, accel, decel } => {
                let distance = self.tanks[to].position - self.tanks[from].position;
                Some(ramp_time(distance, *speed, *accel, *decel))
            }
            Travel::Table { empty, .. } => empty[from.ix()][to.ix()],
        }
    }

    /// The phases of a loaded move with the given drip. `attach` is false if the hoist hangs on to the carrier
    /// already, `release` is false if it stays attached for a dip on the hook.
    /// `None` where the hoist cannot make the move.
    pub fn phases(
        &self,
        hoist: HoistId,
        from: TankId,
        to: TankId,
        drip: Dur,
        attach: bool,
        release: bool,
    ) -> Option<Phases> {
        if !self.reaches(hoist, from) || !self.reaches(hoist, to) {
            return None;
        }
        let h = &self.hoists[hoist];
        let (raise, lower) = h.raise_lower();
        let (travel, settle) = match &h.travel {
            Travel::Kinematic { speed, accel, decel } => {
                let distance = self.tanks[to].position - self.tanks[from].position;
                (ramp_time(distance, *speed, *accel, *decel), h.settle)
            }
            // A measured move holds its own settling; what is left after raise and lower is air.
            Travel::Table { loaded, .. } => (loaded[from.ix()][to.ix()]? - raise - lower, Dur::ZERO),
        };
        Some(Phases {
            hook: if attach { h.hook } else { Dur::ZERO },
            raise,
            drip,
            travel,
            settle,
            lower,
            unhook: if release { h.unhook } else { Dur::ZERO },
        })
    }
}
