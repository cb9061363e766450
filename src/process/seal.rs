//! How long a film takes to seal.

use super::answer::Answer;
use super::basis::{self, Basis};
use super::quantity::{Input, Minutes, SealRate, Thickness, number};

/// Seal time per thickness.
pub const RATE: Input<SealRate> =
    Input::new("rate", 0.2, 10.0, "cold seals take about 1, hot water 2 to 3 min/um");

/// Ways to seal whose time goes by thickness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Seal {
    /// Hot water.
    #[default]
    HotWater,
    /// Metal salt at middling temperature.
    MidTemperature,
    /// Cold nickel fluoride.
    Cold,
}

impl Seal {
    /// Least and most usual rate, and what they rest on.
    pub fn rates(self) -> (SealRate, SealRate, &'static Basis) {
        match self {
            Self::HotWater => (SealRate(2.0), SealRate(3.0), &basis::SEAL_WATER),
            Self::MidTemperature => (SealRate(1.0), SealRate(2.0), &basis::SEAL_MID),
            Self::Cold => (SealRate(0.8), SealRate(1.2), &basis::SEAL_COLD),
        }
    }
}

/// Time at a rate.
pub fn time(film: Thickness, rate: SealRate) -> Minutes {
    Minutes(film.0 * rate.0)
}

/// The seal step worked out, with the shop's own rate if it is given.
pub fn seal(film: Thickness, kind: Seal, own: Option<SealRate>) -> Answer {
    let mut answer = Answer::default();
    if let Some(rate) = own {
        answer.time("time_min", format!("time at {rate}"), time(film, rate), &basis::SEAL_OWN);
        return answer;
    }
    let (least, most, rests) = kind.rates();
    for (key, rate) in [("least_min", least), ("most_min", most)] {
        answer.time(key, format!("at {} min/um", number(rate.0)), time(film, rate), rests);
    }
    if kind == Seal::Cold {
        answer.time("warm_rinse_min", "then in warm water, at least", time(film, least), rests);
    }
    answer.remark("Too short stains and fades and can be sealed again while wet; too long leaves a bloom that wipes off.");
    answer
}
