//! The window of a step: as the sheet gives it in minutes, or worked out from the film.

use super::common::{join, number};
use super::shape::{KindWord, StepShape, ToleranceShape};
use super::text::{Doc, Seg};
use crate::process::class::Class;
use crate::process::film::{self, Yield};
use crate::process::quantity::{ChargeDensity, CurrentDensity, Minutes, Refusal, Thickness};
use crate::process::seal;
use crate::units::Dur;

/// A window and the field of the file that it comes from.
#[derive(Debug, Clone, Copy)]
pub struct Window {
    pub min: Dur,
    pub target: Dur,
    pub max: Dur,
    /// Where to point when the longest dwell is wrong.
    pub max_field: &'static str,
}

/// How far a window given by thickness reaches below and above its target, in percent of the charge.
const FILM_TOLERANCE: ToleranceShape = ToleranceShape { under_pct: 5.0, over_pct: 10.0 };
/// The same for sealing, in percent of the time: the rate is a least one.
const SEAL_TOLERANCE: ToleranceShape = ToleranceShape { under_pct: 0.0, over_pct: 50.0 };

/// The window of a step in a bath of that kind. `film` is what the steps before have made of the film, and is told
/// what this one makes; it is `None` as long as no step has said.
pub fn window(
    doc: &mut Doc<'_>,
    path: &[Seg],
    step: &StepShape,
    kind: Option<KindWord>,
    film: &mut Option<Thickness>,
) -> Option<Window> {
    if let (Some(_), Some(_)) = (&step.thickness, &step.from_thickness) {
        let found = "a film to make and a film to seal in one step";
        doc.error(
            "dwell-given-twice",
            &join(path, "from_thickness"),
            found,
            "`thickness` or `from_thickness`",
        );
        return None;
    }
    let derived = match (&step.thickness, &step.from_thickness) {
        (Some(text), _) => Some(("thickness", text, anodise as Derive)),
        (None, Some(text)) => Some(("from_thickness", text, sealing as Derive)),
        (None, None) => None,
    };
    if derived.is_none() {
        let fields = [("class", step.class.is_some()), ("tolerance", step.tolerance.is_some())];
        for (field, _) in fields.iter().filter(|(_, given)| *given) {
            let found = format!("a {field} in a step without a thickness");
            doc.error("thickness-missing", &join(path, *field), &found, "`thickness` as well, or none of it");
        }
        if matches!(kind, Some(KindWord::Anodise | KindWord::Strip)) {
            *film = None;
        }
        return as_given(doc, path, step);
    }
    let (field, text, derive) = derived?;
    let given = [("min", step.min.is_some()), ("target", step.target.is_some()), ("max", step.max.is_some())];
    let mut twice = false;
    for (minutes, _) in given.iter().filter(|(_, given)| *given) {
        let expected = format!("either min, target and max, or `{field}`, from which they are worked out");
        doc.error(
            "dwell-given-twice",
            &join(path, *minutes),
            &format!("{minutes} beside {field}"),
            &expected,
        );
        twice = true;
    }
    if let Some(tolerance) = &step.tolerance {
        let path = join(path, "tolerance");
        number(doc, &join(&path, "under_pct"), tolerance.under_pct, 0.0..=50.0, "%");
        number(doc, &join(&path, "over_pct"), tolerance.over_pct, 0.0..=100.0, "%");
    }
    let window = derive(doc, path, step, text, kind, film)?;
    (!twice).then_some(Window { max_field: field, ..window })
}

type Derive =
    fn(&mut Doc<'_>, &[Seg], &StepShape, &str, Option<KindWord>, &mut Option<Thickness>) -> Option<Window>;

/// The window of a film: the charge may miss its target by the tolerance, but never what the class asks for.
fn anodise(
    doc: &mut Doc<'_>,
    path: &[Seg],
    step: &StepShape,
    text: &str,
    kind: Option<KindWord>,
    made: &mut Option<Thickness>,
) -> Option<Window> {
    *made = None;
    let here = join(path, "thickness");
    if kind.is_some_and(|k| !matches!(k, KindWord::Anodise)) {
        doc.error(
            "thickness-not-anodise",
            &here,
            "a film to make",
            "a stage of kind anodise, or min and max",
        );
        return None;
    }
    let wanted = told(doc, &here, film::THICKNESS.read(text))?;
    *made = Some(wanted);
    let Some(current) = &step.current else {
        let expected = "`current` with its density, or min, target and max";
        doc.error("thickness-without-current", &here, "a thickness without a current", expected);
        return None;
    };
    let current_path = join(path, "current");
    let density = film::DENSITY.accept(CurrentDensity(current.density_a_dm2));
    let density = told(doc, &join(&current_path, "density_a_dm2"), density);
    let ramp = film::RAMP.accept(Minutes::from_dur(current.ramp.0));
    let ramp = told(doc, &join(&current_path, "ramp"), ramp);
    let tolerance = step.tolerance.as_ref().unwrap_or(&FILM_TOLERANCE);
    let mut least = wanted.0 * (1.0 - tolerance.under_pct / 100.0);
    let mut most = wanted.0 * (1.0 + tolerance.over_pct / 100.0);
    if let Some(name) = &step.class {
        let here = join(path, "class");
        let class = told(doc, &here, Class::read(name))?;
        if wanted.0 < class.least || class.most.is_some_and(|most| wanted.0 > most) {
            let upper = class.most.map_or(String::new(), |most| format!(" and at most {most} um"));
            let expected = format!("at least {} um{upper}, or another class", class.least);
            doc.error("class-missed", &here, &format!("{wanted} for {}", class.name), &expected);
            return None;
        }
        least = least.max(class.least);
        most = most.min(class.most.unwrap_or(most));
    }
    let (density, ramp) = (density?, ramp?);
    let time = |um: f64| {
        let charge: ChargeDensity = Yield::default().charge(Thickness(um));
        film::time_for(charge, density, ramp)
    };
    Some(rounded(time(least), time(wanted.0), time(most)))
}

/// The window of a seal: the rate times the film made before.
fn sealing(
    doc: &mut Doc<'_>,
    path: &[Seg],
    step: &StepShape,
    text: &str,
    kind: Option<KindWord>,
    film: &mut Option<Thickness>,
) -> Option<Window> {
    let here = join(path, "from_thickness");
    if kind.is_some_and(|k| !matches!(k, KindWord::Seal)) {
        doc.error("from-thickness-not-seal", &here, "a film to seal", "a stage of kind seal, or min and max");
        return None;
    }
    if step.class.is_some() {
        let expected = "the class in the anodise step";
        doc.error("class-not-anodise", &join(path, "class"), "a class in a seal", expected);
    }
    let rate = told(doc, &here, seal::RATE.read(text))?;
    let Some(film) = *film else {
        let expected = "an anodise step before it with a `thickness`, or min, target and max";
        doc.error("film-not-known", &here, "a film whose thickness no step gives", expected);
        return None;
    };
    let tolerance = step.tolerance.as_ref().unwrap_or(&SEAL_TOLERANCE);
    let target = seal::time(film, rate).0;
    let share = |percent: f64| Minutes(target * (1.0 + percent / 100.0));
    Some(rounded(share(-tolerance.under_pct), share(0.0), share(tolerance.over_pct)))
}

/// Whole seconds that a person can read off a clock; the rounding never opens the window.
fn rounded(min: Minutes, target: Minutes, max: Minutes) -> Window {
    // A figure that is whole but for its last bit is whole.
    let up = |m: Minutes| (m.0 * 60.0 - 1e-6).ceil() as i64;
    let down = |m: Minutes| (m.0 * 60.0 + 1e-6).floor() as i64;
    let min = up(min);
    // Where the window is narrower than a second the least film decides.
    let max = down(max).max(min);
    let target = ((target.0 * 60.0).round() as i64).clamp(min, max);
    Window {
        min: Dur::from_secs(min),
        target: Dur::from_secs(target),
        max: Dur::from_secs(max),
        max_field: "max",
    }
}

/// The window as the sheet gives it.
fn as_given(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape) -> Option<Window> {
    let Some(min) = step.min else {
        let expected = "`min`, or in an anodise step `thickness`, or in a seal `from_thickness`";
        doc.error("no-dwell", path, "a step that says neither how long nor how thick", expected);
        return None;
    };
    let min = min.0;
    let max = step.max.map_or(Dur::UNLIMITED, |s| s.0);
    if max < min {
        let found = format!("max {max} below min {min}");
        doc.error("window-backwards", &join(path, "max"), &found, "min, then target, then max");
    } else if let Some(target) = step.target.filter(|t| t.0 < min || t.0 > max) {
        let expected = format!("a target from min {min} to max {max}");
        doc.error("target-outside", &join(path, "target"), &target.0.to_string(), &expected);
    }
    let max_field = if step.max.is_some() { "max" } else { "target" };
    Some(Window { min, target: step.target.map_or(min, |t| t.0), max, max_field })
}

/// The quantity, or a finding that says why not.
fn told<Q>(doc: &mut Doc<'_>, path: &[Seg], read: Result<Q, Refusal>) -> Option<Q> {
    read.map_err(|r| doc.error("out-of-range", path, &r.found, &r.expected)).ok()
}
