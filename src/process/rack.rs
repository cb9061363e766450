//! What a tall rack and a stripped film come to.

use super::answer::Answer;
use super::basis;
use super::film::Yield;
use super::quantity::{Height, Input, Minutes, Speed, Thickness};

/// Height of the rack.
pub const HEIGHT: Input<Height> = Input::new("height", 1e4, 1e7, "what hangs on a flight bar").told_in("m");
/// Hoist speed.
pub const SPEED: Input<Speed> = Input::new("speed", 0.005, 2.0, "hoists lower and lift at 0.05 to 0.5 m/s");

/// How much longer the bottom of a rack is in the liquid than its top.
pub fn longer(height: Height, lower: Speed, lift: Speed) -> Minutes {
    Minutes(height.0 / 1e6 * (1.0 / lower.0 + 1.0 / lift.0) / 60.0)
}

/// The wet time worked out.
pub fn wet(height: Height, lower: Speed, lift: Speed) -> Answer {
    let mut answer = Answer::default();
    let seconds = longer(height, lower, lift).0 * 60.0;
    answer.figure("longer_s", "bottom in the liquid longer than the top by", seconds, "s", &basis::WET_TIME);
    answer.remark("On a dip of seconds this can be more than the dip.");
    answer
}

/// What stripping a film costs: the metal it had used up.
pub fn strip(film: Thickness) -> Answer {
    let mut answer = Answer::default();
    let metal = film.0 * Yield::default().penetration();
    answer.figure("metal_um", "metal gone per side", metal, "um", &basis::PENETRATION);
    answer.figure("growth_um", "of the film had been growth", film.0 - metal, "um", &basis::PENETRATION);
    answer.remark("The etch that strips takes more. Look at toleranced parts before they are stripped.");
    answer
}
