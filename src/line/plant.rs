//! Rail, tanks, stages and rectifiers.

use super::bath::Limit;
use crate::ids::{RectifierId, StageId};
use crate::units::{Dur, Mm, Watts};

/// The rail the hoists run on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rail {
    /// Lowest position a hoist can take.
    pub from: Mm,
    /// Highest position a hoist can take.
    pub to: Mm,
    /// The least distance between the centres of two hoists.
    pub gap: Mm,
}

/// A tank or a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Short unique name, such as `T07`.
    pub name: String,
    /// What it holds, for people.
    pub label: String,
    /// Position of its centre along the rail.
    pub position: Mm,
    /// What it is for.
    pub role: Role,
    /// How many carriers fit. Stations have room for all that wait.
    pub capacity: u16,
    /// Bath temperature set point in degrees Celsius, if it is controlled.
    pub temperature_c: Option<f64>,
    /// Limits outside of which no load goes in, and when to measure.
    pub limits: Vec<Limit>,
    /// How long after the opening of the shift it is ready (a bath that heats up in the morning).
    pub ready_after: Dur,
    /// When it goes out of service, counted from the opening of the shift; unlimited if it stays.
    pub out_after: Dur,
}

/// What a tank is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Where carriers are racked and unracked.
    Station {
        /// Carriers start here.
        load: bool,
        /// Finished carriers are put down here.
        unload: bool,
    },
    /// One of the tanks of a stage (a standby kind is a stage too).
    Bath(StageId),
}

/// Interchangeable tanks for one treatment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// Short unique name, such as `etch` or `hold-pre`.
    pub name: String,
    /// For people.
    pub label: String,
    /// The kind of treatment.
    pub kind: StageKind,
    /// The rectifier that feeds its tanks, if any.
    pub rectifier: Option<RectifierId>,
}

/// Kinds of treatment the trade knows; alarms and plausibility rules depend on them, the timing does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StageKind {
    /// Soak clean (degrease).
    Clean,
    /// Water rinse.
    Rinse,
    /// Caustic etch.
    Etch,
    /// Desmut or deoxidise.
    Desmut,
    /// Anodise.
    Anodise,
    /// Dye.
    Dye,
    /// Seal.
    Seal,
    /// Drying oven or blow-off; the only kind that is not a liquid.
    Dry,
    /// Stripping of spoiled film.
    Strip,
    /// Standby water: a place to wait, not a treatment.
    Standby,
}

/// A rectifier and what it can give.
#[derive(Debug, Clone, PartialEq)]
pub struct Rectifier {
    /// Short unique name.
    pub name: String,
    /// Largest current in amperes, per tank it feeds.
    pub max_amps: f64,
    /// Largest DC power, per tank it feeds.
    pub max_power: Option<Watts>,
}
