//! Recipes: the steps of the process sheet and their windows.

use crate::ids::{StageId, StepNo};
use crate::units::Dur;

/// One process sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Short unique name.
    pub name: String,
    /// For people.
    pub label: String,
    /// Steps between load and unload.
    pub steps: Vec<Step>,
    /// True if this recipe strips spoiled work and starts it again.
    pub rework: bool,
    /// True if this recipe strips empty aluminium racks.
    pub strips_racks: bool,
}

/// How often a load may be stripped and run again, and what that costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rework {
    /// How often at most.
    pub most: u8,
    /// Share of a film's thickness by which it has eaten into the metal: that much is gone once it is stripped.
    pub penetration: f64,
}

impl Default for Rework {
    /// Once (common practice, no source); 0.63 after the charge balance at the yield of the 720 rule.
    fn default() -> Self {
        Self { most: 1, penetration: 0.63 }
    }
}

/// One immersion.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Where it is done.
    pub stage: StageId,
    /// Shortest dwell.
    pub min: Dur,
    /// Dwell to aim for.
    pub target: Dur,
    /// Longest dwell; unlimited if the sheet sets none.
    pub max: Dur,
    /// Drip over the tank on leaving.
    pub drip: Dur,
    /// Longest air time on leaving; unlimited if the sheet sets none.
    pub air_max: Dur,
    /// The hoist stays attached during the dwell.
    pub on_hook: bool,
    /// What too long does.
    pub over: Harm,
    /// What too short does.
    pub under: Harm,
    /// What too much air after this step does.
    pub air: Harm,
    /// Standby water allowed after this step.
    pub hold: Option<Hold>,
    /// Current during the step.
    pub current: Option<Current>,
}

/// Permission to wait in a standby tank after a step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// The standby stage.
    pub stage: StageId,
    /// Longest stay.
    pub max: Dur,
    /// What a longer stay does.
    pub over: Harm,
}

/// Current a step draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Current {
    /// Current density in A/dm2.
    pub density: f64,
    /// Voltage at that density.
    pub volts: f64,
    /// Time over which the current rises from nothing.
    pub ramp: Dur,
}

/// How bad a broken window is, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Harm {
    /// The parts are lost.
    Scrap,
    /// Strip and start again.
    Rework,
    /// Shade or appearance shifts.
    Shade,
    /// Wipe, rinse again, wait.
    Nuisance,
}

impl Harm {
    /// All of them, the worst first.
    pub const ALL: [Self; 4] = [Self::Scrap, Self::Rework, Self::Shade, Self::Nuisance];

    /// The letter that stands for it wherever colour might fail.
    pub fn letter(self) -> char {
        match self {
            Self::Scrap => 'S',
            Self::Rework => 'R',
            Self::Shade => 'H',
            Self::Nuisance => 'N',
        }
    }
    /// The word that stands for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Scrap => "scrap",
            Self::Rework => "rework",
            Self::Shade => "shade",
            Self::Nuisance => "nuisance",
        }
    }
}

/// The visit in words; steps are counted from 1.
impl std::fmt::Display for Visit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Load => f.write_str("load"),
            Self::Step(n) => write!(f, "step {}", n.0 + 1),
            Self::Hold(n) => write!(f, "standby after step {}", n.0 + 1),
            Self::Stray { resume } => write!(f, "a wrong tank before step {}", resume.0 + 1),
            Self::Unload => f.write_str("unload"),
        }
    }
}

/// Why a carrier is where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Visit {
    /// At a load station, not yet started.
    Load,
    /// In a tank for a step.
    Step(StepNo),
    /// In standby water after a step.
    Hold(StepNo),
    /// In a tank where it should not be; the step it must go on with is kept.
    Stray {
        /// The step to go to next.
        resume: StepNo,
    },
    /// At an unload station, finished.
    Unload,
}
