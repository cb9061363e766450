//! Units of the trade and what they come to in one another.

/// What a quantity is a quantity of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dim {
    /// Film thickness, length, height; base um.
    Length,
    /// Surface; base dm2.
    Area,
    /// Volume; base l.
    Volume,
    /// Time; base min.
    Time,
    /// Speed; base m/s.
    Speed,
    /// Volume per time; base l/h.
    Flow,
    /// Temperature on a scale with a zero of its own; base degC.
    Temperature,
    /// Electric current; base A.
    Current,
    /// Current per surface; base A/dm2.
    CurrentDensity,
    /// Voltage; base V.
    Voltage,
    /// Power; base kW.
    Power,
    /// Energy; base kJ.
    Energy,
    /// Electric charge; base A.min.
    Charge,
    /// Charge per surface; base A.min/dm2.
    ChargeDensity,
    /// Mass per volume of a solution; base g/l.
    Concentration,
    /// Mass per volume of a solid or a bath; base g/cm3.
    Density,
    /// Coating weight: mass per surface; base mg/dm2.
    ArealMass,
    /// Drag-out: volume per surface; base ml/m2.
    ArealVolume,
    /// Heat a kilogram takes up per degree; base kJ/kgK.
    HeatCapacity,
    /// Time per thickness; base min/um.
    SealRate,
    /// Falling-off per time; base 1/s.
    Rate,
    /// A share or a ratio; base 1.
    Ratio,
}

/// A unit: so many of its dimension's base unit, from an offset on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// What it measures.
    pub dim: Dim,
    /// How it is written.
    pub name: &'static str,
    /// Other ways to write it, as [`fold`] leaves them.
    also: &'static [&'static str],
    /// Base units in one of it.
    factor: f64,
    /// What is subtracted before the factor; only temperatures have it.
    offset: f64,
}

/// International foot: 0.3048 m exactly.
const DM_PER_FOOT: f64 = 3.048;
/// Square decimetres in a square foot, exactly.
pub const DM2_PER_FT2: f64 = DM_PER_FOOT * DM_PER_FOOT;
/// Micrometres in a thousandth of an inch, exactly.
pub const UM_PER_MIL: f64 = 25.4;
/// US liquid gallon: 231 cubic inches, exactly.
const L_PER_GAL: f64 = 3.785_411_784;
/// Imperial gallon, exactly.
const L_PER_IMPERIAL_GAL: f64 = 4.546_09;
/// Avoirdupois ounce, exactly.
const G_PER_OZ: f64 = 28.349_523_125;
/// International table BTU, exactly.
const KJ_PER_BTU: f64 = 1.055_055_852_62;

const fn unit(dim: Dim, name: &'static str, also: &'static [&'static str], factor: f64) -> Unit {
    Unit { dim, name, also, factor, offset: 0.0 }
}

/// Every unit that is understood; the first of a dimension is its base.
pub const UNITS: &[Unit] = &[
    unit(
        Dim::Length,
        "um",
        &["micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers"],
        1.0,
    ),
    unit(Dim::Length, "mil", &["mils", "thou"], UM_PER_MIL),
    unit(Dim::Length, "mm", &[], 1e3),
    unit(Dim::Length, "cm", &[], 1e4),
    unit(Dim::Length, "m", &[], 1e6),
    unit(Dim::Length, "in", &["inch", "inches"], 25.4e3),
    unit(Dim::Length, "ft", &["foot", "feet"], 304.8e3),
    unit(Dim::Area, "dm2", &[], 1.0),
    unit(Dim::Area, "m2", &[], 100.0),
    unit(Dim::Area, "cm2", &[], 0.01),
    unit(Dim::Area, "ft2", &["sqft"], DM2_PER_FT2),
    unit(Dim::Area, "in2", &["sqin"], 0.064_516),
    unit(Dim::Volume, "l", &["litre", "litres", "liter", "liters"], 1.0),
    unit(Dim::Volume, "ml", &[], 1e-3),
    unit(Dim::Volume, "m3", &[], 1e3),
    unit(Dim::Volume, "gal", &["gallon", "gallons", "usgal"], L_PER_GAL),
    unit(Dim::Volume, "impgal", &["imperialgallon", "imperialgallons"], L_PER_IMPERIAL_GAL),
    unit(Dim::Time, "min", &["minute", "minutes"], 1.0),
    unit(Dim::Time, "s", &["sec", "second", "seconds"], 1.0 / 60.0),
    unit(Dim::Time, "h", &["hr", "hour", "hours"], 60.0),
    unit(Dim::Speed, "m/s", &[], 1.0),
    unit(Dim::Speed, "m/min", &[], 1.0 / 60.0),
    unit(Dim::Speed, "ft/min", &["fpm"], 0.3048 / 60.0),
    unit(Dim::Flow, "l/h", &[], 1.0),
    unit(Dim::Flow, "l/min", &[], 60.0),
    unit(Dim::Flow, "m3/h", &[], 1e3),
    unit(Dim::Flow, "gal/h", &["gph"], L_PER_GAL),
    unit(Dim::Flow, "gal/min", &["gpm"], L_PER_GAL * 60.0),
    unit(Dim::Temperature, "degC", &["c", "celsius"], 1.0),
    Unit { dim: Dim::Temperature, name: "degF", also: &["f", "fahrenheit"], factor: 1.0 / 1.8, offset: 32.0 },
    Unit { dim: Dim::Temperature, name: "K", also: &["kelvin"], factor: 1.0, offset: 273.15 },
    unit(Dim::Current, "A", &["amp", "amps", "ampere", "amperes"], 1.0),
    unit(Dim::Current, "kA", &[], 1e3),
    unit(Dim::CurrentDensity, "A/dm2", &["asd"], 1.0),
    unit(Dim::CurrentDensity, "A/m2", &[], 0.01),
    unit(Dim::CurrentDensity, "A/ft2", &["asf", "a/sqft"], 1.0 / DM2_PER_FT2),
    unit(Dim::CurrentDensity, "mA/cm2", &[], 0.1),
    unit(Dim::Voltage, "V", &["volt", "volts"], 1.0),
    unit(Dim::Power, "kW", &[], 1.0),
    unit(Dim::Power, "W", &["watt", "watts"], 1e-3),
    unit(Dim::Power, "BTU/h", &["btuh", "btu/hr"], KJ_PER_BTU / 3600.0),
    unit(Dim::Power, "ton", &["tons", "tonsofrefrigeration"], KJ_PER_BTU * 12_000.0 / 3600.0),
    unit(Dim::Energy, "kJ", &[], 1.0),
    unit(Dim::Energy, "MJ", &[], 1e3),
    unit(Dim::Energy, "kWh", &[], 3600.0),
    unit(Dim::Energy, "BTU", &[], KJ_PER_BTU),
    unit(Dim::Charge, "A.min", &["amin", "amperemin", "ampmin"], 1.0),
    unit(Dim::Charge, "A.h", &["ah"], 60.0),
    unit(Dim::Charge, "coulomb", &["coulombs", "a.s", "as"], 1.0 / 60.0),
    unit(Dim::ChargeDensity, "A.min/dm2", &["amin/dm2"], 1.0),
    unit(Dim::ChargeDensity, "A.min/ft2", &["amin/ft2"], 1.0 / DM2_PER_FT2),
    unit(Dim::ChargeDensity, "A.h/dm2", &["ah/dm2"], 60.0),
    unit(Dim::Concentration, "g/l", &[], 1.0),
    unit(Dim::Concentration, "mg/l", &[], 1e-3),
    unit(Dim::Concentration, "oz/gal", &["opg"], G_PER_OZ / L_PER_GAL),
    unit(Dim::Concentration, "lb/gal", &[], 16.0 * G_PER_OZ / L_PER_GAL),
    unit(Dim::Density, "g/cm3", &["kg/l"], 1.0),
    unit(Dim::Density, "kg/m3", &[], 1e-3),
    unit(Dim::ArealMass, "mg/dm2", &[], 1.0),
    unit(Dim::ArealMass, "mg/ft2", &[], 1.0 / DM2_PER_FT2),
    unit(Dim::ArealMass, "g/m2", &[], 10.0),
    unit(Dim::ArealVolume, "ml/m2", &[], 1.0),
    unit(Dim::ArealVolume, "l/m2", &[], 1e3),
    unit(Dim::ArealVolume, "gal/1000ft2", &["gal/kft2"], L_PER_GAL * 100.0 / DM2_PER_FT2),
    unit(Dim::HeatCapacity, "kJ/kgK", &["kj/kg/k", "kj/(kg.k)"], 1.0),
    unit(Dim::SealRate, "min/um", &[], 1.0),
    unit(Dim::SealRate, "s/um", &[], 1.0 / 60.0),
    unit(Dim::SealRate, "min/mil", &[], 1.0 / UM_PER_MIL),
    unit(Dim::Rate, "1/s", &["/s"], 1.0),
    unit(Dim::Rate, "1/min", &["/min"], 1.0 / 60.0),
    unit(Dim::Ratio, "1", &[""], 1.0),
    unit(Dim::Ratio, "%", &["percent"], 0.01),
];

impl Unit {
    /// The unit a name stands for; spaces, capitals and the ways to write a square or a micro do not matter.
    pub fn find(name: &str) -> Option<&'static Self> {
        let name = fold(name);
        UNITS.iter().find(|u| fold(u.name) == name || u.also.contains(&name.as_str()))
    }

    /// So much of this unit in base units of its dimension.
    pub fn to_base(&self, value: f64) -> f64 {
        (value - self.offset) * self.factor
    }

    /// So many base units in this unit.
    pub fn of_base(&self, base: f64) -> f64 {
        base / self.factor + self.offset
    }
}

impl Dim {
    /// The base unit.
    pub fn base(self) -> &'static Unit {
        UNITS.iter().find(|u| u.dim == self).expect("every dimension has a base unit")
    }

    /// What a number without a unit is taken for; `None` where two units are equally likely.
    pub fn plain(self) -> Option<&'static Unit> {
        let name = match self {
            Self::Time => "s",
            Self::Current | Self::Voltage | Self::Ratio => return Some(self.base()),
            _ => return None,
        };
        Unit::find(name)
    }

    /// The names of its units, for a message.
    pub fn names(self) -> String {
        let names: Vec<&str> = UNITS.iter().filter(|u| u.dim == self).map(|u| u.name).collect();
        names.join(", ")
    }
}

/// A unit's name without what differs from keyboard to keyboard.
fn fold(name: &str) -> String {
    name.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '^' | '\u{b0}'))
        .map(|c| match c {
            '\u{b2}' => '2',
            '\u{b3}' => '3',
            '\u{b5}' | '\u{3bc}' => 'u',
            '\u{b7}' | '*' => '.',
            c => c.to_ascii_lowercase(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_stands_for_two_units() {
        let mut names: Vec<String> = UNITS
            .iter()
            .flat_map(|u| std::iter::once(fold(u.name)).chain(u.also.iter().map(|a| (*a).to_owned())))
            .collect();
        let all = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), all);
        assert!(UNITS.iter().flat_map(|u| u.also).all(|a| fold(a) == **a), "an alias that is never found");
    }

    #[test]
    fn the_first_of_a_dimension_is_its_base() {
        assert!(UNITS.iter().all(|u| (u.dim.base().to_base(1.0) - 1.0).abs() < f64::EPSILON));
    }
}
