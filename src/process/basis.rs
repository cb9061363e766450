//! What each rule rests on. No figure is shown without one of these beside it.

/// How far a rule can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Follows from definitions or from the laws of physics and chemistry.
    Exact,
    /// Seen in the source named.
    Published,
    /// From memory of the source named; look it up there before it is quoted.
    FromMemory,
    /// Common practice; there is no source.
    CommonPractice,
}

impl Standing {
    /// The words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Exact => "by definition or calculation",
            Self::Published => "published",
            Self::FromMemory => "from memory, not checked against the source",
            Self::CommonPractice => "common practice, no source",
        }
    }
}

/// A rule and its source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Basis {
    /// The rule in words or as a formula.
    pub rule: &'static str,
    /// Where it comes from and how far it holds.
    pub source: &'static str,
    /// How far it can be trusted.
    pub standing: Standing,
}

const fn basis(rule: &'static str, source: &'static str, standing: Standing) -> Basis {
    Basis { rule, source, standing }
}

use Standing::{CommonPractice, Exact, FromMemory, Published};

/// Thickness from charge.
pub const RULE_720: Basis = basis(
    "720 rule: min = 720 x mil / (A/ft2), or um = 0.327741 x A.min/dm2",
    "trade article \"How to Apply the 720 Rule\"; an empirical yield near 20 C and 15-20 % acid, less in warm acid, over \
     long times and on 2000-series alloys",
    Published,
);
/// The same rule with the shop's own figure in the place of 720.
pub const OWN_YIELD: Basis = basis(
    "the shop's own figure in the place of 720",
    "as given; form of the 720 rule, trade article \"How to Apply the 720 Rule\"",
    Published,
);
/// The charge under a current that rises evenly.
pub const CHARGE: Basis = basis(
    "thickness follows charge: current density x time, a ramp counts half",
    "area under the current",
    Exact,
);
/// The most film a charge can make.
pub const FARADAY: Basis = basis(
    "Faraday: um = 1.056754 / (g/cm3) x A.min/dm2 if every electron makes oxide; nothing can beat it",
    "2 Al + 3 H2O -> Al2O3 + 6 H+ + 6 e-, F = 96485.33212 C/mol; oxide density as given (porous 2.3-2.9, compact 3.0-3.2 \
     g/cm3, from memory)",
    Exact,
);
/// Current from area.
pub const CURRENT: Basis = basis(
    "A = dm2 x A/dm2; count the surface of aluminium racks too",
    "definition; that racks count is common practice",
    Exact,
);
/// DC power.
pub const DC_POWER: Basis = basis("kW = A x V / 1000", "definition", Exact);
/// Power from the mains.
pub const MAINS: Basis = basis(
    "mains power = DC power / efficiency of the rectifier; 85 % unless told",
    "usual figure",
    CommonPractice,
);
/// Usual voltages.
pub const USUAL_VOLTS: Basis =
    basis("Type II usually takes 12-20 V, 2000-series alloys a little more", "trade usage", FromMemory);
/// Reaction heat.
pub const BATH_HEAT: Basis = basis(
    "kW = A x (V + 1.413) / 1000 if all current makes oxide; pumps and air come on top",
    "818.21 kJ/mol Al2O3 over 6 F, from formation enthalpies -1675.7 and -285.83 kJ/mol (CODATA key values, from memory)",
    FromMemory,
);
/// Warming without cooling.
pub const BATH_RISE: Basis = basis(
    "K = kJ / (l x kg/l x kJ/kgK), nothing cooled or lost",
    "heat balance; 1.12 kg/l and 3.5 kJ/kgK for sulphuric baths are from memory, unless told",
    FromMemory,
);
/// Hydrogen from current or etching.
pub const HYDROGEN: Basis = basis(
    "hydrogen: half a mole per mole of electrons, 1.5 moles per mole of aluminium; 24.465 l/mol at 25 C and 1 atm",
    "stoichiometry and the ideal gas law",
    Exact,
);
/// Metal dissolved.
pub const METAL: Basis = basis("aluminium at 2.70 g/cm3", "definition", Exact);
/// Metal a film has used up.
pub const PENETRATION: Basis = basis(
    "metal used up follows the charge, if all of it oxidises aluminium: 0.632 of the film at the yield of the 720 rule",
    "charge balance; printed shares run from a third to two thirds, so the shop's own figure wins",
    Exact,
);
/// Sealing in hot water.
pub const SEAL_WATER: Basis =
    basis("hot water seal: 2 to 3 min per um", "practice after ISO 7599 and quality labels", FromMemory);
/// Sealing in mid-temperature salt.
pub const SEAL_MID: Basis =
    basis("mid-temperature metal salt seal: 1 to 2 min per um", "trade usage", FromMemory);
/// Cold sealing.
pub const SEAL_COLD: Basis = basis(
    "cold nickel fluoride seal: 0.8 to 1.2 min per um, then as long in water at 60 C",
    "practice after quality labels; too long and the fluoride attacks the film",
    FromMemory,
);
/// A shop's own seal rate.
pub const SEAL_OWN: Basis = basis("time = rate x thickness", "the rate is the shop's own, as given", Exact);
/// Counterflow rinses.
pub const RINSE: Basis = basis(
    "n counterflow stages: dilution = 1 + r + ... + r^n with r = water flow / drag-out, well stirred, in balance",
    "mass balance; one tank as in published rinsing tutorials",
    Exact,
);
/// The short form of the same.
pub const RINSE_SHORT: Basis =
    basis("short form: r = dilution^(1/n), a little high", "usual approximation", CommonPractice);
/// Drip.
pub const DRIP: Basis = basis(
    "what still clings: ml = start x e^(-rate x s) + end",
    "form in a published rinsing manual, after EPA/625/4-87/018; the figures are the shop's own",
    Published,
);
/// Wet time of a tall rack.
pub const WET_TIME: Basis = basis(
    "the bottom is in the liquid longer than the top by height x (1/lowering + 1/lifting speed)",
    "geometry, speeds taken as even",
    Exact,
);
/// Thickness from coating weight.
pub const WEIGHT: Basis = basis(
    "um = mg/dm2 / (10 x 10 x g/cm3)",
    "geometry; the apparent density of a porous film, 2.5 g/cm3 unless told, is from memory",
    FromMemory,
);
/// Classes of ISO 7599.
pub const ISO_7599: Basis = basis(
    "AA n: average at least n um, no single place below 80 % of it",
    "ISO 7599; that the classes exist was seen, the figures were not",
    FromMemory,
);
/// Type II of MIL-PRF-8625.
pub const MIL_8625: Basis = basis(
    "Type II: 1.8 to 25.4 um (0.07 to 1.0 mil); at least 1000 mg/ft2 undyed (class 1), 2500 mg/ft2 dyed (class 2)",
    "MIL-A-8625F / MIL-PRF-8625",
    FromMemory,
);
/// Architectural classes.
pub const AAMA_611: Basis = basis(
    "class I: at least 0.7 mil (18 um); class II: 0.4 to 0.7 mil (10 to 18 um)",
    "AAMA 611 and the designation system for aluminium finishes, as published by the trade",
    Published,
);
/// Conversions.
pub const UNITS: Basis = basis(
    "1 mil = 25.4 um, 1 ft2 = 9.290304 dm2, 1 gal = 3.785411784 l (US), degF = degC x 1.8 + 32",
    "international definitions",
    Exact,
);
