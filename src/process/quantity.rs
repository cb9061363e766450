//! Quantities read from text such as `15 um`: a number, a unit, a range outside of which they are refused.

use std::fmt;
use std::marker::PhantomData;

use super::unit::{Dim, Unit};
use crate::units::Dur;

/// Why an input is refused: what it is, what was found, what would do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}: {found}; expected {expected}")]
pub struct Refusal {
    /// The input's name.
    pub what: &'static str,
    /// What was found.
    pub found: String,
    /// What was expected, with the reason.
    pub expected: String,
}

/// A number of one dimension, held in that dimension's base unit.
pub trait Quantity: Copy {
    /// What it measures.
    const DIM: Dim;
    /// So many base units.
    fn of(base: f64) -> Self;
    /// In base units.
    fn get(self) -> f64;
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $dim:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl Quantity for $name {
            const DIM: Dim = Dim::$dim;
            fn of(base: f64) -> Self {
                Self(base)
            }
            fn get(self) -> f64 {
                self.0
            }
        }

        /// Number and base unit.
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}", with_unit(self.0, Dim::$dim.base().name))
            }
        }
    )*};
}

quantities! {
    /// Thickness of a film in um.
    Thickness: Length;
    /// A height in um, read in m as a rule.
    Height: Length;
    /// A surface in dm2.
    Area: Area;
    /// A volume in l.
    Volume: Volume;
    /// A length of time in min.
    Minutes: Time;
    /// A speed in m/s.
    Speed: Speed;
    /// A flow in l/h.
    Flow: Flow;
    /// A current in A.
    Amps: Current;
    /// A current density in A/dm2.
    CurrentDensity: CurrentDensity;
    /// A voltage in V.
    Volts: Voltage;
    /// A power in kW.
    Kilowatts: Power;
    /// A charge in A.min.
    Charge: Charge;
    /// A charge per surface in A.min/dm2.
    ChargeDensity: ChargeDensity;
    /// A concentration in g/l.
    Concentration: Concentration;
    /// A density in g/cm3.
    Density: Density;
    /// A coating weight in mg/dm2.
    CoatingWeight: ArealMass;
    /// A heat capacity in kJ/kgK.
    HeatCapacity: HeatCapacity;
    /// Sealing time per thickness in min/um.
    SealRate: SealRate;
    /// A falling-off in 1/s.
    Rate: Rate;
    /// A share or a ratio.
    Ratio: Ratio;
}

impl Minutes {
    /// From a duration.
    pub fn from_dur(d: Dur) -> Self {
        Self(d.as_secs_f64() / 60.0)
    }

    /// `20:20.5`, or `1:05:20.5` from one hour up.
    pub fn clock(self) -> String {
        let tenths = (self.0 * 600.0).round() as u64;
        let (h, m, s) = (tenths / 36_000, tenths / 600 % 60, tenths % 600);
        let s = format!("{:02}.{}", s / 10, s % 10);
        if h > 0 { format!("{h}:{m:02}:{s}") } else { format!("{m}:{s}") }
    }
}

/// An input: its name, the range it is accepted in, both ends included, and why no further.
#[derive(Debug, Clone, Copy)]
pub struct Input<Q> {
    /// Its name.
    pub name: &'static str,
    /// Least value in base units.
    pub least: f64,
    /// Largest value in base units.
    pub most: f64,
    /// Why the range ends where it does.
    pub why: &'static str,
    /// The unit the range is told in, if that is not the base unit.
    unit: Option<&'static str>,
    quantity: PhantomData<Q>,
}

impl<Q: Quantity> Input<Q> {
    /// An input of a name and a range in base units.
    pub const fn new(name: &'static str, least: f64, most: f64, why: &'static str) -> Self {
        Self { name, least, most, why, unit: None, quantity: PhantomData }
    }

    /// The same, its range told in another unit than the base unit.
    #[must_use]
    pub const fn told_in(self, unit: &'static str) -> Self {
        Self { unit: Some(unit), ..self }
    }

    /// Reads a text such as `15 um`, `12asf` or, for times, `20:20.5`.
    pub fn read(&self, text: &str) -> Result<Q, Refusal> {
        let refuse = || self.refusal(text);
        if Q::DIM == Dim::Time && text.contains(':') {
            let time = Dur::parse(text).ok_or_else(refuse)?;
            return self.check(time.as_secs_f64() / 60.0, text);
        }
        let (value, unit) = split(text).ok_or_else(refuse)?;
        let unit = if unit.is_empty() { Q::DIM.plain() } else { Unit::find(unit) };
        let unit = unit.filter(|u| u.dim == Q::DIM).ok_or_else(refuse)?;
        self.check(unit.to_base(value), text)
    }

    /// The quantity if it is in range.
    pub fn accept(&self, quantity: Q) -> Result<Q, Refusal> {
        self.check(quantity.get(), &with_unit(quantity.get(), Q::DIM.base().name))
    }

    fn check(&self, base: f64, found: &str) -> Result<Q, Refusal> {
        // A range written in decimals must accept its own ends in any unit.
        let hair = |end: f64| 1e-9 * end.abs();
        if base >= self.least - hair(self.least) && base <= self.most + hair(self.most) {
            return Ok(Q::of(base));
        }
        let why = if base < 0.0 { "there is no less than nothing of it" } else { self.why };
        let expected = format!("{} ({why})", self.range());
        Err(Refusal { what: self.name, found: shown(found), expected })
    }

    /// The range: `0.5 to 50 um`.
    pub fn range(&self) -> String {
        let unit = self.unit.and_then(Unit::find).unwrap_or_else(|| Q::DIM.base());
        format!("{} to {}", number(unit.of_base(self.least)), with_unit(unit.of_base(self.most), unit.name))
    }

    fn refusal(&self, text: &str) -> Refusal {
        let expected = match (Q::DIM, Q::DIM.plain()) {
            (Dim::Ratio, _) => "a number, or one with %".to_owned(),
            (dim, Some(plain)) => {
                format!("a number with a unit out of {}; without a unit {} is meant", dim.names(), plain.name)
            }
            (dim, None) => format!("a number with a unit out of {}", dim.names()),
        };
        Refusal { what: self.name, found: shown(text), expected }
    }
}

/// What a person wrote, short and harmless.
fn shown(text: &str) -> String {
    text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect::<String>().trim().to_owned()
}

/// The number a text begins with and what comes after it.
pub fn split(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    end += digits(end);
    if bytes.get(end) == Some(&b'.') {
        end += 1;
        end += digits(end);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let from = (end + 1 + sign).min(bytes.len());
        if digits(from) > 0 {
            end = from + digits(from);
        }
    }
    let value: f64 = text[..end].parse().ok()?;
    value.is_finite().then_some((value, text[end..].trim()))
}

/// Five significant digits, no more zeros than needed; every digit of a whole number.
pub fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { value.to_string() };
    }
    let decimals = 4 - value.abs().log10().floor() as i32;
    if decimals > 12 || value.abs() >= 1e15 {
        return format!("{value:.4e}");
    }
    let text = format!("{value:.*}", decimals.max(0) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Number and unit; a bare ratio has none.
pub fn with_unit(value: f64, unit: &str) -> String {
    if unit == "1" || unit.is_empty() { number(value) } else { format!("{} {unit}", number(value)) }
}
