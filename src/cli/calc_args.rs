//! What the user typed after `calc` and `explain`: quantities with their units, refused at once when out of range.

use clap::{Args, Subcommand, ValueEnum};

use crate::process::class::{self, Class};
use crate::process::quantity::{
    Amps, Area, Charge, CoatingWeight, Concentration, CurrentDensity, Density, Flow, HeatCapacity, Height,
    Kilowatts, Minutes, Rate, Ratio, SealRate, Speed, Thickness, Volts, Volume,
};
use crate::process::{bath, film, power, rack, rinse, seal};

/// Arguments of `calc`.
#[derive(Debug, Args)]
pub struct Calc {
    #[command(subcommand)]
    pub question: Option<Question>,
    /// Print the answer as JSON
    #[arg(long, global = true)]
    pub json: bool,
}

/// What can be worked out.
#[derive(Debug, Subcommand)]
pub enum Question {
    /// Time, film or current density of an anodise from the other two; charge, current, power, Faraday's bound
    Anodise(Anodise),
    /// Power of loads that are under current at once, DC and from the mains
    Power(Power),
    /// Heat and hydrogen of a bath under current, and how fast it warms without cooling
    Bath(Bath),
    /// Seal time from thickness
    Seal(Seal),
    /// Which thickness classes a film satisfies
    Class(ClassOf),
    /// Counterflow rinses: dilution from water and drag-out, or the water a dilution takes
    Rinse(Rinse),
    /// What still clings after a drip
    Drip(Drip),
    /// Metal and hydrogen of an etch
    Etch(Etch),
    /// Metal that is gone when a film is stripped
    Strip(Strip),
    /// How much longer the bottom of a tall rack is in the liquid than its top
    Wet(Wet),
    /// Convert between units, such as: convert 15 um mil
    Convert(Convert),
}

/// Arguments of `calc anodise`.
#[derive(Debug, Args)]
pub struct Anodise {
    /// Film wanted, such as 15um or 0.6mil
    #[arg(long, value_name = "THICKNESS", value_parser = |s: &str| film::THICKNESS.read(s))]
    pub thickness: Option<Thickness>,
    /// Current density, such as 1.5A/dm2 or 12asf
    #[arg(long, value_name = "DENSITY", value_parser = |s: &str| film::DENSITY.read(s))]
    pub density: Option<CurrentDensity>,
    /// Length of the step, the ramp included, such as 40min or 20:20
    #[arg(long, value_name = "TIME", value_parser = |s: &str| film::TIME.read(s))]
    pub time: Option<Minutes>,
    /// Charge a meter counted, such as 203.4A.h, instead of the time; needs --area
    #[arg(long, value_name = "CHARGE", value_parser = |s: &str| film::CHARGE.read(s))]
    pub charge: Option<Charge>,
    /// Surface of the load, aluminium racks included, such as 210dm2
    #[arg(long, value_name = "AREA", value_parser = |s: &str| power::AREA.read(s))]
    pub area: Option<Area>,
    /// Voltage, for power; needs --area
    #[arg(long, value_name = "VOLTS", requires = "area", value_parser = |s: &str| power::VOLTS.read(s))]
    pub volts: Option<Volts>,
    /// Time over which the current rises evenly from nothing, such as 60 (seconds) or 2min
    #[arg(long, value_name = "TIME", value_parser = |s: &str| film::RAMP.read(s))]
    pub ramp: Option<Minutes>,
    /// Most the rectifier gives; a larger load gets less density and more time; needs --area
    #[arg(long, value_name = "AMPS", requires = "area", value_parser = |s: &str| power::AMPS.read(s))]
    pub max_amps: Option<Amps>,
    /// Most DC power; above it the answer is no; needs --volts
    #[arg(long, value_name = "POWER", requires = "volts", value_parser = |s: &str| power::CAP.read(s))]
    pub cap: Option<Kilowatts>,
    /// Efficiency of the rectifier, such as 0.85 or 85%
    #[arg(long, value_name = "SHARE", value_parser = |s: &str| power::EFFICIENCY.read(s))]
    pub efficiency: Option<Ratio>,
    /// Density of the oxide for Faraday's bound; 2.8 g/cm3 unless told
    #[arg(long, value_name = "DENSITY", value_parser = |s: &str| film::OXIDE.read(s))]
    pub oxide: Option<Density>,
    /// The shop's own figure in the place of 720, in A.min/ft2 per mil
    #[arg(long, value_name = "N", value_parser = |s: &str| film::CONSTANT.read(s))]
    pub constant: Option<Ratio>,
}

/// Arguments of `calc power`.
#[derive(Debug, Args)]
pub struct Power {
    /// Current and voltage of a load, such as "600A x 18V"; once for each load that is under current at the same time
    #[arg(long = "load", value_name = "LOAD", required = true, value_parser = |s: &str| power::Load::read(s))]
    pub loads: Vec<power::Load>,
    /// Most DC power; above it the answer is no
    #[arg(long, value_name = "POWER", value_parser = |s: &str| power::CAP.read(s))]
    pub cap: Option<Kilowatts>,
    /// Efficiency of the rectifiers, such as 0.85 or 85%
    #[arg(long, value_name = "SHARE", value_parser = |s: &str| power::EFFICIENCY.read(s))]
    pub efficiency: Option<Ratio>,
}

/// Arguments of `calc bath`.
#[derive(Debug, Args)]
pub struct Bath {
    /// Current, or --area and --density
    #[arg(long, value_name = "AMPS", required_unless_present_all = ["area", "density"],
        conflicts_with_all = ["area", "density"], value_parser = |s: &str| power::AMPS.read(s))]
    pub amps: Option<Amps>,
    /// Surface of the load
    #[arg(long, value_name = "AREA", requires = "density", value_parser = |s: &str| power::AREA.read(s))]
    pub area: Option<Area>,
    /// Current density
    #[arg(long, value_name = "DENSITY", requires = "area", value_parser = |s: &str| film::DENSITY.read(s))]
    pub density: Option<CurrentDensity>,
    /// Voltage
    #[arg(long, value_name = "VOLTS", value_parser = |s: &str| power::VOLTS.read(s))]
    pub volts: Volts,
    /// How long
    #[arg(long, value_name = "TIME", value_parser = |s: &str| bath::TIME.read(s))]
    pub time: Option<Minutes>,
    /// Contents of the tank, such as 3000l; needs --time
    #[arg(long, value_name = "VOLUME", requires = "time", value_parser = |s: &str| bath::VOLUME.read(s))]
    pub volume: Option<Volume>,
    /// Density of the solution; 1.12 kg/l unless told
    #[arg(long, value_name = "DENSITY", requires = "volume", value_parser = |s: &str| bath::SOLUTION.read(s))]
    pub solution: Option<Density>,
    /// Heat capacity of the solution; 3.5 kJ/kgK unless told
    #[arg(long, value_name = "CAPACITY", requires = "volume", value_parser = |s: &str| bath::HEAT_CAPACITY.read(s))]
    pub heat_capacity: Option<HeatCapacity>,
}

/// Arguments of `calc seal`.
#[derive(Debug, Args)]
pub struct Seal {
    /// Film to be sealed
    #[arg(long, value_name = "THICKNESS", value_parser = |s: &str| film::THICKNESS.read(s))]
    pub thickness: Thickness,
    /// The kind of seal
    #[arg(long, value_enum, default_value_t)]
    pub kind: SealKind,
    /// The shop's own rate, such as 2.5min/um, instead of the usual ones
    #[arg(long, value_name = "RATE", conflicts_with = "kind", value_parser = |s: &str| seal::RATE.read(s))]
    pub rate: Option<SealRate>,
}

/// Seals whose time goes by thickness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum SealKind {
    /// Hot water
    #[default]
    HotWater,
    /// Metal salt at 71 to 88 degC
    MidTemperature,
    /// Cold nickel fluoride
    Cold,
}

/// Arguments of `calc class`.
#[derive(Debug, Args)]
pub struct ClassOf {
    /// Average thickness
    #[arg(long, value_name = "THICKNESS", required_unless_present = "weight",
        value_parser = |s: &str| class::MEASURED.read(s))]
    pub thickness: Option<Thickness>,
    /// Thinnest place measured
    #[arg(long, value_name = "THICKNESS", value_parser = |s: &str| class::MEASURED.read(s))]
    pub local: Option<Thickness>,
    /// Coating weight, such as 2500mg/ft2
    #[arg(long, value_name = "WEIGHT", value_parser = |s: &str| class::WEIGHT.read(s))]
    pub weight: Option<CoatingWeight>,
    /// Apparent density of the film; 2.5 g/cm3 unless told
    #[arg(long, value_name = "DENSITY", requires = "weight", value_parser = |s: &str| class::FILM.read(s))]
    pub film_density: Option<Density>,
    /// The class asked for, such as "AA 15"; if it is missed the answer is no
    #[arg(long, value_name = "CLASS", value_parser = |s: &str| Class::read(s))]
    pub class: Option<&'static Class>,
}

/// Arguments of `calc rinse`.
#[derive(Debug, Args)]
pub struct Rinse {
    /// Rinses in a row, the water going the other way
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=i64::from(rinse::MOST_STAGES)))]
    pub stages: u32,
    /// Water, such as 100l/h
    #[arg(long, value_name = "FLOW", requires = "dragout", value_parser = |s: &str| rinse::FLOW.read(s))]
    pub flow: Option<Flow>,
    /// Drag-out, such as 2l/h
    #[arg(long, value_name = "FLOW", value_parser = |s: &str| rinse::DRAG_OUT.read(s))]
    pub dragout: Option<Flow>,
    /// Dilution wanted: bath over last rinse
    #[arg(long, value_name = "RATIO", required_unless_present = "flow", value_parser = |s: &str| rinse::DILUTION.read(s))]
    pub dilution: Option<Ratio>,
    /// Concentration of the bath before, such as 180g/l
    #[arg(long, value_name = "CONCENTRATION", value_parser = |s: &str| rinse::BATH.read(s))]
    pub bath: Option<Concentration>,
}

/// Arguments of `calc drip`.
#[derive(Debug, Args)]
pub struct Drip {
    /// Volume that runs off in the end
    #[arg(long, value_name = "VOLUME", value_parser = |s: &str| rinse::CLINGING.read(s))]
    pub start: Volume,
    /// Volume that stays
    #[arg(long, value_name = "VOLUME", value_parser = |s: &str| rinse::CLINGING.read(s))]
    pub end: Volume,
    /// How fast it runs off, such as 0.1/s
    #[arg(long, value_name = "RATE", value_parser = |s: &str| rinse::RUN_OFF.read(s))]
    pub rate: Rate,
    /// How long it drips
    #[arg(long, value_name = "TIME", value_parser = |s: &str| film::RAMP.read(s))]
    pub time: Minutes,
}

/// Arguments of `calc etch`.
#[derive(Debug, Args)]
pub struct Etch {
    /// Metal taken off per side
    #[arg(long, value_name = "THICKNESS", value_parser = |s: &str| bath::DEPTH.read(s))]
    pub depth: Thickness,
    /// Surface
    #[arg(long, value_name = "AREA", value_parser = |s: &str| power::AREA.read(s))]
    pub area: Area,
}

/// Arguments of `calc strip`.
#[derive(Debug, Args)]
pub struct Strip {
    /// The film
    #[arg(long, value_name = "THICKNESS", value_parser = |s: &str| film::THICKNESS.read(s))]
    pub thickness: Thickness,
}

/// Arguments of `calc wet`.
#[derive(Debug, Args)]
pub struct Wet {
    /// Height of the rack, such as 1.8m
    #[arg(long, value_name = "HEIGHT", value_parser = |s: &str| rack::HEIGHT.read(s))]
    pub height: Height,
    /// Speed of lowering, such as 0.1m/s
    #[arg(long, value_name = "SPEED", value_parser = |s: &str| rack::SPEED.read(s))]
    pub lower: Speed,
    /// Speed of lifting
    #[arg(long, value_name = "SPEED", value_parser = |s: &str| rack::SPEED.read(s))]
    pub lift: Speed,
}

/// Arguments of `calc convert`.
#[derive(Debug, Args)]
pub struct Convert {
    /// A number, its unit and the unit wanted
    #[arg(required = true, num_args = 1.., allow_negative_numbers = true, value_name = "WORD")]
    pub words: Vec<String>,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct Explain {
    /// A kind of bath such as etch, or a word of the glossary; everything there is if none is named
    #[arg(value_name = "WORD", num_args = 0..)]
    pub words: Vec<String>,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}
