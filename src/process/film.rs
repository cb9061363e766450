//! Film from charge: the 720 rule, the bound after Faraday, ramps, and the metal a film uses up.

use super::quantity::{Area, Input, Ratio, number};
use super::quantity::{
    Charge, ChargeDensity, CurrentDensity, Density, Minutes, Quantity as _, Refusal, Thickness,
};
use super::unit::{DM2_PER_FT2, UM_PER_MIL};

/// Faraday's constant in C/mol (CODATA 2018).
pub(super) const FARADAY: f64 = 96_485.332_12;
/// Molar mass of the oxide, `Al2O3`, in g/mol.
const OXIDE_MOLAR: f64 = 101.9613;
/// Molar mass of aluminium in g/mol.
pub(super) const METAL_MOLAR: f64 = 26.981_538_5;
/// Density of aluminium in g/cm3.
pub(super) const METAL_DENSITY: f64 = 2.70;
/// Electrons for one formula unit of oxide.
const ELECTRONS: f64 = 6.0;

/// Thickness to be made or made.
pub const THICKNESS: Input<Thickness> = Input::new(
    "thickness",
    0.5,
    50.0,
    "the rule is for sulphuric Type II films; thicker ones are hard coat and dissolve while they grow",
);
/// Current density on the parts.
pub const DENSITY: Input<CurrentDensity> = Input::new(
    "density",
    0.3,
    5.0,
    "the rule is for sulphuric Type II; 1.0 to 2.0 A/dm2 is usual, more burns or is hard coat",
);
/// Length of an anodise step.
pub const TIME: Input<Minutes> = Input::new("time", 0.0, 720.0, "no Type II film takes longer than a shift");
/// Rise of the current.
pub const RAMP: Input<Minutes> = Input::new("ramp", 0.0, 30.0, "a ramp takes seconds to minutes");
/// Ampere-minutes a meter has counted.
pub const CHARGE: Input<Charge> =
    Input::new("charge", 0.0, 60e6, "more than any shop's rectifier gives a load");
/// Density of the oxide, porous or compact.
pub const OXIDE: Input<Density> =
    Input::new("oxide", 2.3, 3.2, "apparent density of porous film from 2.3, compact oxide up to 3.2 g/cm3");
/// The shop's own figure in the place of 720.
pub const CONSTANT: Input<Ratio> =
    Input::new("constant", 600.0, 1500.0, "A.min/ft2 per mil; 720 is usual, warm acid takes more");

/// How much film a charge makes, measured in A.min/ft2 for each mil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Yield(f64);

impl Default for Yield {
    fn default() -> Self {
        Self(720.0)
    }
}

impl Yield {
    /// The shop's own figure; refused if it would beat Faraday's bound for an oxide of that density.
    pub fn own(constant: Ratio, oxide: Density) -> Result<Self, Refusal> {
        let own = Self(CONSTANT.accept(constant)?.0);
        let most = most_from(ChargeDensity(1.0), oxide);
        if own.thickness(ChargeDensity(1.0)) > most {
            let least = UM_PER_MIL * DM2_PER_FT2 / most.0;
            return Err(Refusal {
                what: "constant",
                found: number(constant.0),
                expected: format!(
                    "at least {} at an oxide of {oxide}: less charge cannot make the film (Faraday)",
                    number(least.ceil())
                ),
            });
        }
        Ok(own)
    }

    /// Micrometres for each A.min/dm2.
    pub fn um(self) -> f64 {
        UM_PER_MIL * DM2_PER_FT2 / self.0
    }

    /// The film a charge makes.
    pub fn thickness(self, charge: ChargeDensity) -> Thickness {
        Thickness(charge.0 * self.um())
    }

    /// The charge a film takes.
    pub fn charge(self, film: Thickness) -> ChargeDensity {
        ChargeDensity(film.0 / self.um())
    }

    /// The share of the charge that ends as oxide of that density.
    pub fn efficiency(self, oxide: Density) -> f64 {
        self.um() / most_from(ChargeDensity(1.0), oxide).0
    }

    /// Metal used up as a share of the film, if all charge oxidises aluminium.
    pub fn penetration(self) -> f64 {
        let grams_per_dm2 = METAL_MOLAR * 60.0 / (ELECTRONS / 2.0 * FARADAY);
        um_of(grams_per_dm2, METAL_DENSITY) / self.um()
    }
}

/// The film a charge makes if all of it ends as oxide of that density: the bound nothing can beat.
pub fn most_from(charge: ChargeDensity, oxide: Density) -> Thickness {
    let grams_per_dm2 = charge.0 * 60.0 * grams_per_coulomb();
    Thickness(um_of(grams_per_dm2, oxide.0))
}

/// Grams of oxide for each coulomb.
pub fn grams_per_coulomb() -> f64 {
    OXIDE_MOLAR / (ELECTRONS * FARADAY)
}

/// The layer that so many grams on one dm2 come to: a dm2 is 100 cm2, a cm 10 000 um.
pub(super) fn um_of(grams_per_dm2: f64, density: f64) -> f64 {
    grams_per_dm2 / density / 100.0 * 1e4
}

/// The charge of a step whose current rises evenly over the ramp and then stays.
pub fn charge_over(density: CurrentDensity, time: Minutes, ramp: Minutes) -> ChargeDensity {
    ChargeDensity(if time >= ramp {
        density.0 * (time.0 - ramp.0 / 2.0)
    } else {
        density.0 * time.0 * time.0 / (2.0 * ramp.0)
    })
}

/// The time a charge takes with such a ramp.
pub fn time_for(charge: ChargeDensity, density: CurrentDensity, ramp: Minutes) -> Minutes {
    let on_the_ramp = density.0 * ramp.0 / 2.0;
    Minutes(if charge.0 >= on_the_ramp {
        charge.0 / density.0 + ramp.0 / 2.0
    } else {
        (2.0 * ramp.0 * charge.0 / density.0).sqrt()
    })
}

/// The charge per surface that a meter's count comes to.
pub fn spread_over(charge: Charge, area: Area) -> ChargeDensity {
    ChargeDensity(charge.get() / area.get())
}
