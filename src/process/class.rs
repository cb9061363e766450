//! Thickness classes, and which of them a film satisfies.

use super::answer::Answer;
use super::basis::{self, Basis};
use super::quantity::{CoatingWeight, Density, Input, Refusal, Thickness, number};
use super::unit::{DM2_PER_FT2, UM_PER_MIL};

/// A measured thickness.
pub const MEASURED: Input<Thickness> =
    Input::new("thickness", 0.1, 200.0, "from the thinnest film a gauge can tell to the thickest hard coat");
/// A measured coating weight.
pub const WEIGHT: Input<CoatingWeight> = Input::new("weight", 1.0, 10_000.0, "more is no Type II film");
/// Apparent density of the film.
pub const FILM: Input<Density> = Input::new("film", 2.0, 3.5, "porous films have about 2.3-2.9 g/cm3");

/// Apparent density of a porous film where none is given; from memory.
const USUAL_FILM: Density = Density(2.5);

/// A class of films.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Class {
    /// Its name, as files and people write it.
    pub name: &'static str,
    /// Least average thickness in um.
    pub least: f64,
    /// Least thickness at any one place in um; 0 where the class sets none.
    pub local: f64,
    /// Most average thickness in um, where the class sets one.
    pub most: Option<f64>,
    /// Least coating weight in mg/ft2, where the class sets one.
    pub weight_mg_ft2: Option<f64>,
    /// What it rests on.
    pub basis: &'static Basis,
}

const fn aa(name: &'static str, um: f64) -> Class {
    Class { name, least: um, local: 0.8 * um, most: None, weight_mg_ft2: None, basis: &basis::ISO_7599 }
}

const fn mil(name: &'static str, weight: f64) -> Class {
    Class {
        name,
        least: 1.8,
        local: 0.0,
        most: Some(UM_PER_MIL),
        weight_mg_ft2: Some(weight),
        basis: &basis::MIL_8625,
    }
}

const fn aama(name: &'static str, least: f64, most: Option<f64>) -> Class {
    Class { name, least, local: 0.0, most, weight_mg_ft2: None, basis: &basis::AAMA_611 }
}

/// All classes.
pub const CLASSES: [Class; 9] = [
    aa("AA 5", 5.0),
    aa("AA 10", 10.0),
    aa("AA 15", 15.0),
    aa("AA 20", 20.0),
    aa("AA 25", 25.0),
    mil("Type II class 1", 1000.0),
    mil("Type II class 2", 2500.0),
    aama("AAMA class I", 18.0, None),
    aama("AAMA class II", 10.0, Some(18.0)),
];

impl Class {
    /// Reads a class by its name; spaces, hyphens and capitals do not matter.
    pub fn read(name: &str) -> Result<&'static Self, Refusal> {
        let fold = |text: &str| -> String {
            text.chars().filter(|c| !matches!(c, ' ' | '-')).map(|c| c.to_ascii_lowercase()).collect()
        };
        CLASSES.iter().find(|c| fold(c.name) == fold(name)).ok_or_else(|| {
            let names: Vec<&str> = CLASSES.iter().map(|c| c.name).collect();
            Refusal {
                what: "class",
                found: name.chars().filter(|c| !c.is_control()).take(40).collect(),
                expected: format!("one of {}", names.join(", ")),
            }
        })
    }

    /// Why a film does not satisfy it; `None` if it does, as far as can be told from what was measured.
    pub fn missed(&self, film: &Film) -> Option<String> {
        let average = film.average.0;
        // A figure that was worked out is held against the limit with a hair of room.
        let below = |value: f64, least: f64| value < least * (1.0 - 1e-9);
        if let (Some(least), Some(weight)) = (self.weight_mg_ft2, film.weight) {
            let weight = weight.0 * DM2_PER_FT2;
            if below(weight, least) {
                return Some(format!("{} mg/ft2 is below {} mg/ft2", number(weight), number(least)));
            }
        }
        if below(average, self.least) {
            return Some(format!("average {} is below {} um", film.average, number(self.least)));
        }
        if let Some(most) = self.most.filter(|most| average > most * (1.0 + 1e-9)) {
            return Some(format!("average {} is over {} um", film.average, number(most)));
        }
        let local = film.local.filter(|l| below(l.0, self.local))?;
        Some(format!("a place with {local} is below {} um", number(self.local)))
    }
}

/// What was measured of a film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Film {
    /// Average thickness.
    pub average: Thickness,
    /// Thinnest place.
    pub local: Option<Thickness>,
    /// Coating weight.
    pub weight: Option<CoatingWeight>,
}

/// The thickness a coating weight comes to.
pub fn equivalent(weight: CoatingWeight, film: Option<Density>) -> Thickness {
    Thickness(super::film::um_of(weight.0 / 1000.0, film.unwrap_or(USUAL_FILM).0))
}

/// The classes a film satisfies; the answer is no if it misses the one asked for. Refused if the thinnest place is thicker
/// than the average.
pub fn class(film: &Film, asked: Option<&Class>, from_weight: bool) -> Result<Answer, Refusal> {
    if let Some(local) = film.local.filter(|local| *local > film.average) {
        let expected = format!("the thinnest place, no more than the average of {}", film.average);
        return Err(Refusal { what: "local", found: local.to_string(), expected });
    }
    let mut answer = Answer::default();
    if from_weight {
        let what = "thickness that weight comes to";
        let mils = format!("{} mil", number(film.average.0 / UM_PER_MIL));
        answer.figure_also("equivalent_um", what, (film.average.0, "um"), mils, &basis::WEIGHT);
    }
    for class in CLASSES.iter().filter(|c| asked.is_none_or(|a| a.name == c.name)) {
        let missed = class.missed(film);
        let verdict = match (&missed, class.weight_mg_ft2) {
            (Some(why), _) => format!("missed: {why}"),
            (None, Some(least)) if film.weight.is_none() => {
                format!("satisfied; weight of {} mg/ft2 not measured", number(least))
            }
            (None, _) => "satisfied".to_owned(),
        };
        answer.figure_also("least_um", class.name, (class.least, "um"), verdict, class.basis);
        if class.local > 0.0 {
            let what = format!("{}, thinnest place", class.name);
            let verdict = if film.local.is_none() { "not measured" } else { "" };
            answer.figure_also("least_local_um", what, (class.local, "um"), verdict.to_owned(), class.basis);
        }
        if let (Some(why), true) = (missed, asked.is_some()) {
            answer.refuse(format!("{} is missed: {why}.", class.name));
        }
    }
    answer.remark("Thickness is not all a class asks for: sealing and appearance have tests of their own.");
    Ok(answer)
}
