//! The recipe file: checks of its meaning against the line, and the recipes built from it.

use super::common::{Names, at_most, join, label, look_up, names, number};
use super::film_in::{self, Window};
use super::shape::{HarmWord, HoldShape, KindWord, LineFile, RecipesFile, StepShape};
use super::text::{Doc, Seg, at};
use super::usual;
use crate::ids::{Arena, Id as _, RecipeId, StageId};
use crate::line::{Current, Harm, Hold, Line, Recipe, Step};
use crate::process::quantity::Thickness;
use crate::units::Dur;

const MAX_RECIPES: usize = 200;
const MAX_STEPS: usize = 200;
/// Trying out every recipe on the empty line must stay quick whatever the file holds.
const MAX_STEPS_IN_ALL: usize = 2000;

/// Checks the recipes against the stages of a line file. `line` is that line built, if it could be; then the
/// recipes come back built too, unless there were errors.
pub fn read(
    doc: &mut Doc<'_>,
    file: &RecipesFile,
    line_file: &LineFile,
    line: Option<&Line>,
) -> Option<Arena<RecipeId, Recipe>> {
    at_most(doc, &at!["recipes"], file.recipes.len(), MAX_RECIPES, "recipes");
    let all = file.recipes.iter().map(|r| r.steps.len()).sum();
    at_most(doc, &at!["recipes"], all, MAX_STEPS_IN_ALL, "steps in all recipes");
    if doc.has_errors() {
        return None;
    }
    if file.recipes.is_empty() {
        doc.error("no-recipe", &at!["recipes"], "no recipe", "at least one");
    }
    names(doc, "recipes", file.recipes.iter().map(|r| r.name.as_str()));
    let mut stages = Names::new();
    for (ix, stage) in line_file.stages.iter().enumerate() {
        stages.entry(stage.name.as_str()).or_insert(ix);
    }
    let mut recipes = Some(Arena::default());
    for (i, recipe) in file.recipes.iter().enumerate() {
        label(doc, &at!["recipes", i, "label"], recipe.label.as_deref().unwrap_or_default());
        at_most(doc, &at!["recipes", i, "steps"], recipe.steps.len(), MAX_STEPS, "steps");
        if recipe.steps.is_empty() {
            doc.error("empty-recipe", &at!["recipes", i, "steps"], "no step", "at least one");
        }
        if recipe.rework && recipe.strips_racks {
            let found = "both `rework` and `strips_racks`";
            doc.error("two-purposes", &at!["recipes", i, "strips_racks"], found, "one of the two");
        }
        let mut steps = Some(Vec::new());
        let mut film = None;
        for (n, step) in recipe.steps.iter().enumerate() {
            let path = at!["recipes", i, "steps", n];
            let built = self::step(doc, &path, step, line_file, &stages, line, &mut film);
            steps = steps.zip(built).map(|(mut steps, step)| {
                steps.push(step);
                steps
            });
        }
        recipes = recipes.zip(steps).map(|(mut recipes, steps)| {
            recipes.push(Recipe {
                name: recipe.name.clone(),
                label: recipe.label.clone().unwrap_or_else(|| recipe.name.clone()),
                steps,
                rework: recipe.rework,
                strips_racks: recipe.strips_racks,
            });
            recipes
        });
    }
    if doc.has_errors() { None } else { recipes }
}

fn step(
    doc: &mut Doc<'_>,
    path: &[Seg],
    step: &StepShape,
    line_file: &LineFile,
    stages: &Names<'_>,
    line: Option<&Line>,
    film: &mut Option<Thickness>,
) -> Option<Step> {
    let stage = look_up(doc, &join(path, "stage"), &step.stage, stages, "stage");
    let kind = stage.map(|ix| line_file.stages[ix].kind);
    let window = film_in::window(doc, path, step, kind, film);
    if let Some(stage) = stage.map(|ix| &line_file.stages[ix]) {
        if matches!(stage.kind, KindWord::Standby) {
            let expected = "a treatment; waiting after a step is its `hold`";
            doc.error("step-in-standby", &join(path, "stage"), "a standby stage as a step", expected);
        }
        let long = window.map(|w| (if w.max.is_unlimited() { w.target } else { w.max }, w.max_field));
        if let (KindWord::Clean, Some((long, field))) = (stage.kind, long)
            && long > Dur::from_mins(15)
        {
            let found = format!("up to {long} in a soak clean");
            doc.warn(
                "clean-too-long",
                &join(path, field),
                &found,
                "a few minutes, 15 at most; were seconds meant?",
            );
        }
        if let Some(window) = &window {
            usual::dwell(doc, path, step, stage.kind, window);
        }
        if step.current.is_some() && stage.rectifier.is_none() {
            let found = format!("current in {}, which no rectifier feeds", stage.name);
            doc.error(
                "current-without-rectifier",
                &join(path, "current"),
                &found,
                "a stage with a `rectifier`",
            );
        }
    }
    without_limit(doc, path, "over", "max", "a longest dwell");
    without_limit(doc, path, "air", "air_max", "a longest time in air");
    if let (Some(line), Some(window)) = (line, &window) {
        servable(doc, path, step, window, line);
    }
    if let Some(current) = &step.current {
        let path = join(path, "current");
        number(doc, &join(&path, "density_a_dm2"), current.density_a_dm2, 0.001..=50.0, "A/dm2");
        usual::density(doc, &join(&path, "density_a_dm2"), current.density_a_dm2);
        number(doc, &join(&path, "volts"), current.volts, 0.1..=500.0, "V");
    }
    let hold = match &step.hold {
        Some(hold) => Some(self::hold(doc, &join(path, "hold"), hold, line_file, stages)?),
        None => None,
    };
    let window = window?;
    Some(Step {
        stage: StageId::at(stage?),
        min: window.min,
        target: window.target,
        max: window.max,
        drip: step.drip.0,
        air_max: step.air_max.map_or(Dur::UNLIMITED, |s| s.0),
        on_hook: step.on_hook,
        over: harm(step.over),
        under: harm(step.under),
        air: harm(step.air),
        hold,
        current: (step.current.as_ref()).map(|c| Current {
            density: c.density_a_dm2,
            volts: c.volts,
            ramp: c.ramp.0,
        }),
    })
}

/// What an overrun does is said, but not of what: without the limit there is no overrun.
fn without_limit(doc: &mut Doc<'_>, path: &[Seg], harm: &str, limit: &str, words: &str) {
    let is_derived =
        limit == "max" && ["thickness", "from_thickness"].iter().any(|f| doc.has(&join(path, *f)));
    if doc.has(&join(path, harm)) && !doc.has(&join(path, limit)) && !is_derived {
        let found = format!("what too long does, without {words}");
        let expected = format!("`{limit}` beside it: without one there is no limit, and nothing warns");
        doc.warn("harm-without-limit", &join(path, harm), &found, &expected);
    }
}

fn hold(
    doc: &mut Doc<'_>,
    path: &[Seg],
    hold: &HoldShape,
    line_file: &LineFile,
    stages: &Names<'_>,
) -> Option<Hold> {
    let ix = look_up(doc, &join(path, "stage"), &hold.stage, stages, "standby stage")?;
    if !matches!(line_file.stages[ix].kind, KindWord::Standby) {
        let found = format!("{}, which is no standby stage", line_file.stages[ix].name);
        doc.error("hold-not-standby", &join(path, "stage"), &found, "a stage of kind standby");
    }
    Some(Hold { stage: StageId::at(ix), max: hold.max.0, over: harm(hold.over) })
}

/// A hoist that puts a carrier down and takes it up again needs the time to let go and to take hold.
fn servable(doc: &mut Doc<'_>, path: &[Seg], step: &StepShape, window: &Window, line: &Line) {
    let fastest = line.hoists.iter().map(|(_, h)| (h.unhook + h.hook, &h.name)).min();
    let Some((least, hoist)) = fastest else { return };
    let expected = || {
        let s = least.as_secs_f64();
        format!(
            "at least {s:.1} s, what {hoist} needs to let go and take hold again, or `on_hook`; a plain number is seconds"
        )
    };
    if !step.on_hook && window.max < least {
        let found = format!("max {:.1} s", window.max.as_secs_f64());
        doc.error("window-too-short", &join(path, window.max_field), &found, &expected());
    }
    if let Some(hold) = step.hold.as_ref().filter(|hold| hold.max.0 < least) {
        let found = format!("max {:.1} s", hold.max.0.as_secs_f64());
        doc.error("window-too-short", &join(&join(path, "hold"), "max"), &found, &expected());
    }
}

fn harm(word: HarmWord) -> Harm {
    match word {
        HarmWord::Scrap => Harm::Scrap,
        HarmWord::Rework => Harm::Rework,
        HarmWord::Shade => Harm::Shade,
        HarmWord::Nuisance => Harm::Nuisance,
    }
}
