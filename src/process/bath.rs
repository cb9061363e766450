//! Heat and hydrogen that a current sets free in a bath, and how fast the bath warms if nothing cools it.

use super::answer::Answer;
use super::basis;
use super::film::{FARADAY, METAL_DENSITY, METAL_MOLAR};
use super::quantity::{
    Amps, Area, Density, HeatCapacity, Input, Kilowatts, Minutes, Thickness, Volts, Volume, number,
};
use super::unit::Unit;

/// Contents of the tank.
pub const VOLUME: Input<Volume> =
    Input::new("volume", 1.0, 200_000.0, "from a bench tank to the largest on a line");
/// How long the current flows.
pub const TIME: Input<Minutes> = Input::new("time", 0.0, 1440.0, "up to a day");
/// Density of the solution.
pub const SOLUTION: Input<Density> = Input::new("solution", 0.9, 1.9, "water is 1, strong acid 1.84 kg/l");
/// Heat capacity of the solution.
pub const HEAT_CAPACITY: Input<HeatCapacity> =
    Input::new("heat-capacity", 1.4, 4.3, "water is 4.19, strong acid 1.4 kJ/kgK");
/// Metal taken off by etching.
pub const DEPTH: Input<Thickness> = Input::new("depth", 0.01, 500.0, "more is milling, not etching");

/// Reaction heat in kJ per mole of oxide: 1675.7 - 3 x 285.83.
const REACTION_HEAT: f64 = 1675.7 - 3.0 * 285.83;
/// Litres of hydrogen in a mole at 25 C and 1 atm.
const MOLAR_VOLUME: f64 = 24.465;

/// What the bath is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bath {
    /// Contents.
    pub volume: Volume,
    /// Density of the solution.
    pub density: Density,
    /// Heat capacity of the solution.
    pub heat_capacity: HeatCapacity,
}

impl Bath {
    /// So much of a usual sulphuric bath; its figures are from memory.
    pub fn usual(volume: Volume) -> Self {
        Self { volume, density: Density(1.12), heat_capacity: HeatCapacity(3.5) }
    }
}

/// Heat set free, reaction heat included. The reaction adds as much as another 1.413 V.
pub fn heat(amps: Amps, volts: Volts) -> Kilowatts {
    let reaction = REACTION_HEAT * 1000.0 / (6.0 * FARADAY);
    Kilowatts(amps.0 * (volts.0 + reaction) / 1000.0)
}

/// Warming in kelvin if all that heat stays in the bath.
pub fn rise(heat: Kilowatts, time: Minutes, bath: &Bath) -> f64 {
    heat.0 * time.0 * 60.0 / (bath.volume.0 * bath.density.0 * bath.heat_capacity.0)
}

/// Hydrogen at the cathode in l/min at 25 C and 1 atm.
pub fn hydrogen(amps: Amps) -> f64 {
    amps.0 * 60.0 / (2.0 * FARADAY) * MOLAR_VOLUME
}

/// The bath under current, worked out.
pub fn bath(amps: Amps, volts: Volts, time: Option<Minutes>, bath: Option<Bath>) -> Answer {
    let mut answer = Answer::default();
    let kw = heat(amps, volts);
    let other = |unit: &str| Unit::find(unit).map_or(0.0, |u| u.of_base(kw.0));
    let also = format!("{} BTU/h, {} tons of refrigeration", number(other("BTU/h")), number(other("ton")));
    answer.figure_also("heat_kw", "heat into the bath", (kw.0, "kW"), also, &basis::BATH_HEAT);
    answer.figure(
        "joule_kw",
        "of it from the current alone",
        amps.0 * volts.0 / 1000.0,
        "kW",
        &basis::DC_POWER,
    );
    if let Some(time) = time {
        let kj = kw.0 * time.0 * 60.0;
        let also = format!("{} kWh", number(kj / 3600.0));
        answer.figure_also("heat_kj", format!("in {}", time.clock()), (kj, "kJ"), also, &basis::BATH_HEAT);
        if let Some(bath) = bath {
            answer.figure(
                "rise_k",
                "warmer without cooling by",
                rise(kw, time, &bath),
                "K",
                &basis::BATH_RISE,
            );
        }
    }
    answer.figure("hydrogen_l_min", "hydrogen at the cathode", hydrogen(amps), "l/min", &basis::HYDROGEN);
    answer.remark(
        "Hydrogen burns: ventilation on, no flame. The figure is for gas at 25 C, not a ventilation design.",
    );
    answer
}

/// Metal and hydrogen of an etch.
pub fn etch(depth: Thickness, area: Area) -> Answer {
    let mut answer = Answer::default();
    let grams = depth.0 / 1e4 * area.0 * 100.0 * METAL_DENSITY;
    answer.figure("metal_g", "aluminium dissolved", grams, "g", &basis::METAL);
    let litres = grams / METAL_MOLAR * 1.5 * MOLAR_VOLUME;
    answer.figure("hydrogen_l", "hydrogen given off", litres, "l", &basis::HYDROGEN);
    answer.remark(
        "Etched metal is gone: look at toleranced parts and threads. Hydrogen and caustic mist: ventilation on, no flame.",
    );
    answer
}
