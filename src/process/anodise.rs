//! The anodise step worked out: time, film or current density from the other two, charge, current, power and the bound.

use super::answer::Answer;
use super::basis::{self, Basis};
use super::film::{self, Yield};
use super::power;
use super::quantity::{
    Amps, Area, Charge, ChargeDensity, CurrentDensity, Density, Kilowatts, Minutes, Ratio, Refusal,
    Thickness, Volts, number,
};
use super::unit::UM_PER_MIL;

/// What is known of a step. Two of thickness, density and time, or a counted charge and the area, give the rest.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Given {
    /// Film wanted.
    pub thickness: Option<Thickness>,
    /// Current density.
    pub density: Option<CurrentDensity>,
    /// Length of the step, the ramp included.
    pub time: Option<Minutes>,
    /// Charge as a meter counted it, instead of the time.
    pub charge: Option<Charge>,
    /// Surface, aluminium racks included.
    pub area: Option<Area>,
    /// Voltage.
    pub volts: Option<Volts>,
    /// Time over which the current rises.
    pub ramp: Option<Minutes>,
    /// Most the rectifier gives.
    pub max_amps: Option<Amps>,
    /// Most DC power.
    pub cap: Option<Kilowatts>,
    /// Efficiency of the rectifier.
    pub efficiency: Option<Ratio>,
    /// Density of the oxide, for Faraday's bound.
    pub oxide: Option<Density>,
    /// The shop's own figure in the place of 720.
    pub constant: Option<Ratio>,
}

/// Oxide density for the bound where none is given; the middle of what is measured, from memory.
const USUAL_OXIDE: Density = Density(2.8);

/// Works the step out. Refused if too little is known, or what is known cannot be.
pub fn anodise(given: &Given) -> Result<Answer, Refusal> {
    let mut answer = Answer::default();
    let oxide = given.oxide.unwrap_or(USUAL_OXIDE);
    let (rule, rests) = match given.constant {
        Some(constant) => (Yield::own(constant, oxide)?, &basis::OWN_YIELD),
        None => (Yield::default(), &basis::RULE_720),
    };
    let ramp = given.ramp.unwrap_or(Minutes(0.0));
    let density = limited(&mut answer, given);
    let charge = match (given.charge, given.time, density, given.thickness) {
        (Some(_), Some(_), ..) => {
            return Err(wanting("time and charge", "one of them: a charge has its time in it"));
        }
        (Some(counted), None, ..) => {
            let area = given.area.ok_or_else(|| wanting("a charge without an area", "--area as well"))?;
            film::spread_over(counted, area)
        }
        (None, Some(time), Some(density), _) => film::charge_over(density, time, ramp),
        (None, _, _, Some(film)) if given.time.is_some() || density.is_some() => rule.charge(film),
        _ => {
            return Err(wanting(
                "too little",
                "two of thickness, density and time, or a charge and the area",
            ));
        }
    };
    let density = needed_density(&mut answer, given, density, (charge, ramp), rests)?;
    let made = rule.thickness(charge);
    if given.time.is_none() && given.charge.is_none() {
        if let Some(density) = density {
            answer.time("time_min", "time", film::time_for(charge, density, ramp), rests);
        }
    } else {
        answer.figure_also("film_um", "film", (made.0, "um"), mils(made), rests);
    }
    answer.figure("charge_a_min_dm2", "charge per surface", charge.0, "A.min/dm2", &basis::CHARGE);
    if let Some(wanted) = given.thickness {
        shortage(&mut answer, wanted, made, density, (rule, rests));
    }
    let most = film::most_from(charge, oxide);
    let bound = format!("Faraday's bound, oxide of {oxide}");
    answer.figure_also("faraday_um", bound, (most.0, "um"), mils(most), &basis::FARADAY);
    if let Some(wanted) = given.thickness.filter(|wanted| wanted.0 > most.0) {
        answer.refuse(format!("That charge cannot make {wanted}, even if every electron made oxide."));
    }
    if let (Some(density), Some(wanted)) = (density, given.thickness) {
        let least = ChargeDensity(wanted.0 / film::most_from(ChargeDensity(1.0), oxide).0);
        answer.time(
            "faraday_min",
            "no time shorter than",
            film::time_for(least, density, ramp),
            &basis::FARADAY,
        );
    }
    let share = rule.efficiency(oxide) * 100.0;
    answer.figure("efficiency_percent", "charge that ends as film", share, "%", &basis::FARADAY);
    answer.figure("metal_um", "metal used up", made.0 * rule.penetration(), "um", &basis::PENETRATION);
    if let Some(area) = given.area {
        let total = charge.0 * area.0;
        answer.figure_also(
            "charge_a_min",
            "charge",
            (total, "A.min"),
            format!("{} A.h", number(total / 60.0)),
            &basis::CHARGE,
        );
        if let Some(density) = density {
            let amps = power::current(area, density);
            answer.figure("current_a", "current", amps.0, "A", &basis::CURRENT);
            if let Some(volts) = given.volts {
                power::drawn(&mut answer, power::dc(amps, volts), given.efficiency, given.cap);
                power::usual_volts(&mut answer, volts);
            }
        }
    }
    Ok(answer)
}

/// The density the rectifier allows: a limit does not refuse a load, it makes the step longer.
fn limited(answer: &mut Answer, given: &Given) -> Option<CurrentDensity> {
    let (Some(density), Some(area), Some(most)) = (given.density, given.area, given.max_amps) else {
        return given.density;
    };
    let wanted = power::current(area, density);
    if wanted.0 <= most.0 {
        return given.density;
    }
    let left = CurrentDensity(most.0 / area.0);
    answer.figure("density_a_dm2", "density the rectifier allows", left.0, "A/dm2", &basis::CURRENT);
    answer.remark(format!(
        "{wanted} wanted and {most} at hand: at the lower density the step is longer, and so is its place in the plan."
    ));
    Some(left)
}

/// The density, worked out if it is what is asked for.
fn needed_density(
    answer: &mut Answer,
    given: &Given,
    density: Option<CurrentDensity>,
    (charge, ramp): (ChargeDensity, Minutes),
    rests: &'static Basis,
) -> Result<Option<CurrentDensity>, Refusal> {
    let (None, Some(time)) = (density, given.time) else { return Ok(density) };
    let at_one = film::charge_over(CurrentDensity(1.0), time, ramp);
    if at_one.0 <= 0.0 {
        return Err(wanting("no time at all", "a time in which a current can flow"));
    }
    let needed = film::DENSITY.accept(CurrentDensity(charge.0 / at_one.0))?;
    let asf = format!("{} A/ft2", number(needed.0 * super::unit::DM2_PER_FT2));
    answer.figure_also("density_a_dm2", "density needed", (needed.0, "A/dm2"), asf, rests);
    Ok(Some(needed))
}

/// What is missing of a film that was to be made in a given time or with a given charge.
fn shortage(
    answer: &mut Answer,
    wanted: Thickness,
    made: Thickness,
    density: Option<CurrentDensity>,
    (rule, rests): (Yield, &'static Basis),
) {
    let short = wanted.0 - made.0;
    if short <= 1e-9 * wanted.0 {
        return;
    }
    answer.figure("short_um", "short by", short, "um", rests);
    if let Some(density) = density {
        let more = Minutes(rule.charge(Thickness(short)).0 / density.0);
        answer.time("short_min", "time still needed at full current", more, rests);
    }
    answer.refuse(format!("The film comes to {made}, not {wanted}."));
    answer.remark(
        "By charge only: after an interruption whether the film may be gone on with is for a person to judge.",
    );
}

fn mils(film: Thickness) -> String {
    format!("{} mil", number(film.0 / UM_PER_MIL))
}

fn wanting(found: &str, expected: &str) -> Refusal {
    Refusal { what: "anodise", found: found.to_owned(), expected: expected.to_owned() }
}
