//! What is measured in a bath, and within which limits a load may go into it.

use crate::units::Dur;

/// What can be measured in a bath, each in one unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Degrees Celsius.
    Temperature,
    /// Grams per litre.
    Concentration,
    /// Microsiemens per centimetre.
    Conductivity,
    /// pH.
    Ph,
}

impl Quantity {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Temperature, Self::Concentration, Self::Conductivity, Self::Ph];

    /// In a word, as it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Concentration => "concentration",
            Self::Conductivity => "conductivity",
            Self::Ph => "ph",
        }
    }

    /// Its unit; empty for pH.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Temperature => "degC",
            Self::Concentration => "g/l",
            Self::Conductivity => "uS/cm",
            Self::Ph => "",
        }
    }

    /// What a bath can show at all: figures beyond are slips of the pen.
    pub fn bounds(self) -> (f64, f64) {
        match self {
            Self::Temperature => (0.0, 120.0),
            Self::Concentration => (0.0, 1000.0),
            Self::Conductivity => (0.0, 1_000_000.0),
            Self::Ph => (0.0, 14.0),
        }
    }

    /// A figure as it stands beside a tank: `57.0 C`, `165 g/l`, `3.2 uS/cm`, `pH 5.4`.
    pub fn figure(self, value: f64) -> String {
        match self {
            Self::Temperature => format!("{value:.1} C"),
            Self::Ph => format!("pH {value:.1}"),
            Self::Concentration | Self::Conductivity => format!("{} {}", short(value), self.unit()),
        }
    }

    /// A figure where nothing else says of what: `temperature 57.0 C`, `pH 5.4`.
    pub fn with_figure(self, value: f64) -> String {
        if self == Self::Ph { self.figure(value) } else { format!("{} {}", self.word(), self.figure(value)) }
    }
}

/// One decimal, or none for whole figures.
fn short(value: f64) -> String {
    if value.fract() == 0.0 { format!("{value:.0}") } else { format!("{value:.1}") }
}

/// Between which figures a bath is fit for work, as the shop's own sheet says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// What is measured.
    pub quantity: Quantity,
    /// The lowest figure, in the quantity's unit.
    pub least: Option<f64>,
    /// The highest figure.
    pub most: Option<f64>,
    /// It is to be measured this long after the last time, or after the tank was ready.
    pub every: Option<Dur>,
    /// No load goes in while the measurement is overdue.
    pub overdue_stops: bool,
}

impl Limit {
    /// What is to be said of a reading beyond the limits: `OUT OF LIMITS, 53 to 57 C`.
    pub fn outside(&self, value: f64) -> Option<String> {
        let low = self.least.is_some_and(|least| value < least);
        let high = self.most.is_some_and(|most| value > most);
        (low || high).then(|| format!("OUT OF LIMITS, {}", self.words()))
    }

    /// The limits in words: `53 to 57 C`, `at most 5 uS/cm`.
    pub fn words(&self) -> String {
        let figure = |v| self.quantity.figure(v);
        match (self.least, self.most) {
            (Some(least), Some(most)) => {
                let unit = match self.quantity {
                    Quantity::Temperature => " C",
                    Quantity::Ph => "",
                    other => &format!(" {}", other.unit()),
                };
                format!("{} to {}{unit}", short(least), short(most))
            }
            (Some(least), None) => format!("at least {}", figure(least)),
            (None, Some(most)) => format!("at most {}", figure(most)),
            (None, None) => "no limit".to_owned(),
        }
    }
}

/// How rinses are run, for the estimate of the water they use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rinsing {
    /// How many times the bath that clings to the load is to be thinned by all stages together.
    pub dilution: f64,
    /// What clings to the load after the drip, in millilitres a square metre.
    pub drag_out_ml_m2: f64,
}

impl Default for Rinsing {
    /// A thousandfold (common practice, no source) and one gallon on a thousand square feet: fairly well drained racks
    /// (from memory).
    fn default() -> Self {
        Self { dilution: 1000.0, drag_out_ml_m2: 40.746 }
    }
}
