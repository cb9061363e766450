//! Hoists and how they move.

use crate::units::{Dur, Mm};

/// A hoist (crane) driven by hand from the control station.
#[derive(Debug, Clone, PartialEq)]
pub struct Hoist {
    /// Short unique name.
    pub name: String,
    /// Lowest position it can serve.
    pub reach_from: Mm,
    /// Highest position it can serve.
    pub reach_to: Mm,
    /// Where it stands when the shift opens.
    pub home: crate::ids::TankId,
    /// Time to take hold of a carrier before the raise.
    pub hook: Dur,
    /// Time to let go of a carrier after the lower.
    pub unhook: Dur,
    /// Time for the load to stop swinging before it is lowered.
    pub settle: Dur,
    /// Raise and lower.
    pub lift: Lift,
    /// Travel along the rail.
    pub travel: Travel,
}

/// How a hoist raises and lowers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lift {
    /// From height, top speed (m/s) and acceleration (m/s2, used for both ends).
    Kinematic {
        /// Height of the stroke.
        height: Mm,
        /// Top speed in m/s.
        speed: f64,
        /// Acceleration and deceleration in m/s2.
        accel: f64,
    },
    /// Measured times.
    Fixed {
        /// Time of the raise.
        raise: Dur,
        /// Time of the lower.
        lower: Dur,
    },
}

/// How a hoist travels.
#[derive(Debug, Clone, PartialEq)]
pub enum Travel {
    /// From distance, top speed and accelerations.
    Kinematic {
        /// Top speed in m/s.
        speed: f64,
        /// Acceleration in m/s2.
        accel: f64,
        /// Deceleration in m/s2.
        decel: f64,
    },
    /// From tables, as in published instances or after a survey with a stopwatch.
    Table {
        /// Empty travel, `empty[from][to]` over all tanks; `None` where it is not known.
        empty: Vec<Vec<Option<Dur>>>,
        /// Whole loaded move without hook, drip and unhook, `loaded[from][to]`: raise, travel, settle and lower.
        loaded: Vec<Vec<Option<Dur>>>,
    },
}
