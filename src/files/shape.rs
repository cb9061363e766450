//! The shape of the JSON files, field by field. The doc comments here are the descriptions in the JSON
//! Schemas under `assets/`, so they are written for the person who fills in a file.
//!
//! Lengths of time are seconds (decimals allowed) or text such as `"4:30"`; positions are metres. Unknown fields
//! are refused, so that a misspelt one cannot be silently ignored.

use serde::{Deserialize, Serialize};

use super::quantity::{Metres, Seconds};

/// The tag of a line file.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub enum LineFormat {
    /// The only version so far.
    #[serde(rename = "dwellhand-line/1")]
    V1,
}

/// A line: its rail, tanks, stages, hoists and rectifiers.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LineFile {
    /// The JSON Schema of this file, for editors. Not read.
    #[serde(rename = "$schema", default)]
    pub schema: Option<String>,
    /// Always `dwellhand-line/1`.
    pub format: LineFormat,
    /// The line's name, for titles.
    pub name: String,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
    /// The rail all hoists share.
    pub rail: RailShape,
    /// The most DC power in kW that all tanks under current together may draw. Absent: no limit.
    #[serde(default)]
    pub power_cap_kw: Option<f64>,
    /// Rectifiers.
    #[serde(default)]
    pub rectifiers: Vec<RectifierShape>,
    /// Stages: interchangeable tanks for one treatment, and the kinds of standby water.
    pub stages: Vec<StageShape>,
    /// Tanks and stations, in rail order.
    pub tanks: Vec<TankShape>,
    /// Hoists (cranes), from the low end of the rail to the high end; they never pass each other.
    pub hoists: Vec<HoistShape>,
    /// How rinses are run, for the estimate of the water they use. Absent: a thousandfold dilution, 40.7 ml/m2.
    #[serde(default)]
    pub rinsing: Option<RinsingShape>,
    /// How often a load may be stripped and run again, and what that costs. Absent: once, 0.63.
    #[serde(default)]
    pub rework: Option<ReworkShape>,
}

/// How rinses are run.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RinsingShape {
    /// How many times the bath that clings to a load is to be thinned by all rinses after it together.
    pub dilution: f64,
    /// What clings to a load after the drip, in millilitres a square metre.
    pub drag_out_ml_m2: f64,
}

/// Limits of rework.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ReworkShape {
    /// How often a load may be stripped and run again: 0 to 2.
    pub most: u8,
    /// Share of a film's thickness by which it has eaten into the metal, 0.3 to 0.8. Absent: 0.63.
    #[serde(default)]
    pub penetration: Option<f64>,
}

/// The rail.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RailShape {
    /// Lowest position a hoist can take, in metres.
    pub from_m: Metres,
    /// Highest position a hoist can take, in metres.
    pub to_m: Metres,
    /// The least distance between the centres of two hoists, in metres. Absent: 0.
    #[serde(default)]
    pub gap_m: Metres,
}

/// A rectifier.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RectifierShape {
    /// Short unique name.
    pub name: String,
    /// Largest current in amperes for each tank it feeds.
    pub max_amps: f64,
    /// Largest DC power in kW for each tank it feeds. Absent: no limit.
    #[serde(default)]
    pub max_kw: Option<f64>,
}

/// A stage.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StageShape {
    /// Short unique name, such as `etch`.
    pub name: String,
    /// What people call it. Absent: the name.
    #[serde(default)]
    pub label: Option<String>,
    /// The kind of treatment.
    pub kind: KindWord,
    /// Name of the rectifier that feeds each of its tanks, if any.
    #[serde(default)]
    pub rectifier: Option<String>,
}

/// Kinds of treatment.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum KindWord {
    /// Soak clean (degrease).
    Clean,
    /// Water rinse.
    Rinse,
    /// Caustic etch.
    Etch,
    /// Desmut or deoxidise.
    Desmut,
    /// Anodise.
    Anodise,
    /// Dye.
    Dye,
    /// Seal.
    Seal,
    /// Drying oven or blow-off.
    Dry,
    /// Stripping of spoiled film.
    Strip,
    /// Standby water: a place to wait.
    Standby,
}

/// A tank or a station. It has either a `stage` or a `station`.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TankShape {
    /// Short unique name, such as `T07`.
    pub name: String,
    /// What it holds, for people. Absent: the name.
    #[serde(default)]
    pub label: Option<String>,
    /// Position of its centre along the rail, in metres.
    pub position_m: Metres,
    /// Name of the stage it belongs to.
    #[serde(default)]
    pub stage: Option<String>,
    /// What it is if it is a station.
    #[serde(default)]
    pub station: Option<StationWord>,
    /// How many carriers fit. Absent: 1, and no limit for a station.
    #[serde(default)]
    pub capacity: Option<u16>,
    /// Bath temperature set point in degrees Celsius, if it is controlled.
    #[serde(default)]
    pub temperature_c: Option<f64>,
    /// Limits outside of which no load goes in, one for each quantity that is measured.
    #[serde(default)]
    pub limits: Vec<LimitShape>,
    /// How long after the opening of the shift it is ready (a bath that heats up). Absent: at once.
    #[serde(default)]
    pub ready_after: Seconds,
    /// How long after the opening of the shift it goes out of service. Absent or null: it stays.
    #[serde(default)]
    pub out_after: Option<Seconds>,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
}

/// Between which figures a bath is fit for work, and how often it is to be measured.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LimitShape {
    /// What is measured.
    pub quantity: QuantityWord,
    /// The lowest figure: C, g/l, uS/cm or pH. Absent: none.
    #[serde(default)]
    pub least: Option<f64>,
    /// The highest figure. Absent: none.
    #[serde(default)]
    pub most: Option<f64>,
    /// It is to be measured this long after the last time, or after the tank was ready. Absent: when somebody likes.
    #[serde(default)]
    pub every: Option<Seconds>,
    /// True if no load is to go in while that is overdue.
    #[serde(default)]
    pub overdue_stops: bool,
}

/// What is measured in a bath.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum QuantityWord {
    /// In degrees Celsius.
    Temperature,
    /// In grams per litre.
    Concentration,
    /// In microsiemens per centimetre.
    Conductivity,
    /// pH.
    #[serde(alias = "pH")]
    Ph,
}

/// What a station is for.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum StationWord {
    /// Carriers start here.
    Load,
    /// Finished carriers are put down here.
    Unload,
    /// Both.
    Both,
}

/// A hoist (crane).
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HoistShape {
    /// Short unique name.
    pub name: String,
    /// Lowest position it can serve, in metres. Absent: the rail's.
    #[serde(default)]
    pub reach_from_m: Option<Metres>,
    /// Highest position it can serve, in metres. Absent: the rail's.
    #[serde(default)]
    pub reach_to_m: Option<Metres>,
    /// Name of the tank or station it stands over when the shift opens.
    pub home: String,
    /// Time to take hold of a carrier before the raise.
    pub hook: Seconds,
    /// Time to let go of a carrier after the lower.
    pub unhook: Seconds,
    /// Time for the load to stop swinging before it is lowered. Not used with a travel table.
    #[serde(default)]
    pub settle: Seconds,
    /// Raise and lower.
    pub lift: LiftShape,
    /// Travel along the rail.
    pub travel: TravelShape,
}

/// How a hoist raises and lowers.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum LiftShape {
    /// From the stroke and the speed.
    Kinematic(KinematicLiftShape),
    /// Measured times.
    Fixed(FixedLiftShape),
}

/// Raise and lower from stroke, speed and acceleration.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct KinematicLiftShape {
    /// Height of the stroke in metres.
    pub height_m: Metres,
    /// Top speed in m/s.
    pub speed_m_s: f64,
    /// Acceleration and deceleration in m/s2.
    pub accel_m_s2: f64,
}

/// Raise and lower as measured.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FixedLiftShape {
    /// Time of the raise.
    pub raise: Seconds,
    /// Time of the lower.
    pub lower: Seconds,
}

/// How a hoist travels.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum TravelShape {
    /// From distance, speed and accelerations.
    Kinematic(KinematicTravelShape),
    /// From tables, as measured with a stopwatch or published.
    Table(TableShape),
}

/// Travel from distance, speed and accelerations.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct KinematicTravelShape {
    /// Top speed in m/s.
    pub speed_m_s: f64,
    /// Acceleration in m/s2.
    pub accel_m_s2: f64,
    /// Deceleration in m/s2. Absent: the same as the acceleration.
    #[serde(default)]
    pub decel_m_s2: Option<f64>,
}

/// Travel times between all tanks: one row for each tank in file order, one column for each tank in file order.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TableShape {
    /// Empty travel from row to column; null where it is not known.
    pub empty: Vec<Vec<Option<Seconds>>>,
    /// Whole loaded move from row to column: raise, travel, settle and lower, without hook, drip and unhook; null
    /// where the move is not made.
    pub loaded: Vec<Vec<Option<Seconds>>>,
}

/// The tag of a recipe file.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub enum RecipesFormat {
    /// The only version so far.
    #[serde(rename = "dwellhand-recipes/1")]
    V1,
}

/// The process sheets.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RecipesFile {
    /// The JSON Schema of this file, for editors. Not read.
    #[serde(rename = "$schema", default)]
    pub schema: Option<String>,
    /// Always `dwellhand-recipes/1`.
    pub format: RecipesFormat,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
    /// Recipes.
    pub recipes: Vec<RecipeShape>,
}

/// One process sheet.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RecipeShape {
    /// Short unique name.
    pub name: String,
    /// What people call it. Absent: the name.
    #[serde(default)]
    pub label: Option<String>,
    /// True if this recipe strips spoiled work and starts it again.
    #[serde(default)]
    pub rework: bool,
    /// True if this recipe strips empty aluminium racks before they are used again.
    #[serde(default)]
    pub strips_racks: bool,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
    /// Steps between load and unload.
    pub steps: Vec<StepShape>,
}

/// One immersion.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StepShape {
    /// Name of the stage where it is done.
    pub stage: String,
    /// Shortest dwell. Needed unless `thickness` or `from_thickness` is given.
    #[serde(default)]
    pub min: Option<Seconds>,
    /// Dwell to aim for. Absent: the shortest.
    #[serde(default)]
    pub target: Option<Seconds>,
    /// Longest dwell. Absent or null: no limit.
    #[serde(default)]
    pub max: Option<Seconds>,
    /// Anodise with `current`: the film to make, such as `"15 um"`, instead of min, target and max. The target is the
    /// time after the 720 rule, ramp included; min and max are the times of 95 % and 110 % of the charge (common
    /// practice) or what `tolerance` says, rounded into the window to whole seconds.
    #[serde(default)]
    pub thickness: Option<String>,
    /// Beside `thickness`: a class such as `"AA 15"` that even the shortest dwell must satisfy on average.
    #[serde(default)]
    pub class: Option<String>,
    /// Seal: time per thickness, such as `"3 min/um"`, instead of min, target and max, for the film that an earlier
    /// anodise step gives as `thickness`. That time is min and target; max is half as long again (common practice) or
    /// what `tolerance` says.
    #[serde(default)]
    pub from_thickness: Option<String>,
    /// Beside `thickness` or `from_thickness`: how far min and max may be from the target.
    #[serde(default)]
    pub tolerance: Option<ToleranceShape>,
    /// Drip over the tank on leaving. Absent: 0.
    #[serde(default)]
    pub drip: Seconds,
    /// Longest time out of liquid on leaving (drip, travel and settle). Absent or null: no limit.
    #[serde(default)]
    pub air_max: Option<Seconds>,
    /// True if the hoist stays attached during the dwell, as for a dip of seconds.
    #[serde(default)]
    pub on_hook: bool,
    /// What too long does. Absent: rework.
    #[serde(default)]
    pub over: HarmWord,
    /// What too short does. Absent: rework.
    #[serde(default)]
    pub under: HarmWord,
    /// What too much time out of liquid after this step does. Absent: rework.
    #[serde(default)]
    pub air: HarmWord,
    /// Standby water in which the carrier may wait after this step.
    #[serde(default)]
    pub hold: Option<HoldShape>,
    /// Current during the step.
    #[serde(default)]
    pub current: Option<CurrentShape>,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
}

/// How far a dwell worked out from a thickness may be off its target.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ToleranceShape {
    /// Least, in percent below.
    pub under_pct: f64,
    /// Most, in percent above.
    pub over_pct: f64,
}

/// How bad a broken window is.
#[derive(Debug, Clone, Copy, Default, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HarmWord {
    /// The parts are lost.
    Scrap,
    /// Strip and start again.
    #[default]
    Rework,
    /// Shade or appearance shifts.
    Shade,
    /// Wipe, rinse again, wait.
    Nuisance,
}

/// Permission to wait in standby water.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HoldShape {
    /// Name of a stage of kind `standby`.
    pub stage: String,
    /// Longest stay.
    pub max: Seconds,
    /// What a longer stay does. Absent: rework.
    #[serde(default)]
    pub over: HarmWord,
}

/// Current of a step.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CurrentShape {
    /// Current density in A/dm2.
    pub density_a_dm2: f64,
    /// Voltage at that density.
    pub volts: f64,
    /// Time over which the current rises from nothing. Absent: 0.
    #[serde(default)]
    pub ramp: Seconds,
}

/// The tag of an order file.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub enum OrdersFormat {
    /// The only version so far.
    #[serde(rename = "dwellhand-orders/1")]
    V1,
}

/// The orders of a shift.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct OrdersFile {
    /// The JSON Schema of this file, for editors. Not read.
    #[serde(rename = "$schema", default)]
    pub schema: Option<String>,
    /// Always `dwellhand-orders/1`.
    pub format: OrdersFormat,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
    /// When the shift opens, RFC 3339 with the offset of the plant's own clock, such as `2026-11-25T06:00:00+01:00`.
    #[serde(default)]
    pub opens: Option<String>,
    /// Racks that have a name, as the last shift left them.
    #[serde(default)]
    pub racks: Vec<RackShape>,
    /// Orders.
    pub orders: Vec<OrderShape>,
}

/// A rack with a name.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RackShape {
    /// Short unique name, such as `R07`.
    pub name: String,
    /// Its metal.
    pub material: RackWord,
    /// How often it went through the line before this shift. Absent: 0.
    #[serde(default)]
    pub cycles: u32,
    /// Parts spoiled on it before this shift, for the list of repeat offenders. Absent: 0.
    #[serde(default)]
    pub spoiled: u32,
}

/// One customer order.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct OrderShape {
    /// Short unique name.
    pub name: String,
    /// What people call it. Absent: the name.
    #[serde(default)]
    pub label: Option<String>,
    /// Parts counted in. The carriers' parts must add up to it.
    pub parts: u32,
    /// Name of the recipe.
    pub recipe: String,
    /// How much it matters. Absent: normal.
    #[serde(default)]
    pub priority: PriorityWord,
    /// Time of day it is promised for, `"HH:MM"`, within 24 hours from `opens`, or the nearest one where `opens` is absent.
    /// In a shift that is begun after it the order is late from the start. Absent: not promised.
    #[serde(default)]
    pub due: Option<String>,
    /// Time of day its carriers are racked, `"HH:MM"`. Absent, or up to 6 hours before the opening: at the opening.
    #[serde(default)]
    pub ready: Option<String>,
    /// True if the parts have dimensions that stripping and running again would take them out of.
    #[serde(default)]
    pub toleranced: bool,
    /// Name of the load station where its carriers enter, or `"any"`. Absent: any.
    #[serde(default)]
    pub entry: Option<String>,
    /// The carriers it is racked on.
    pub carriers: Vec<CarrierShape>,
    /// A remark for people. Not read.
    #[serde(default)]
    pub note: Option<String>,
}

/// How much an order matters.
#[derive(Debug, Clone, Copy, Default, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum PriorityWord {
    /// Before everything else.
    Rush,
    /// The ordinary case.
    #[default]
    Normal,
    /// When there is room.
    Low,
}

/// One carrier (flight bar) with its racks and parts.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CarrierShape {
    /// Short unique name, such as `B04`.
    pub name: String,
    /// Parts racked on it.
    pub parts: u32,
    /// Surface in dm2, racks included; it sets the current.
    pub area_dm2: f64,
    /// The racks' metal. Absent: titanium, or that of the named rack.
    #[serde(default)]
    pub rack: Option<RackWord>,
    /// Height of the load from its lowest to its highest point in metres, for their wet times. Absent: not known.
    #[serde(default)]
    pub height_m: Option<Metres>,
    /// Name of its rack, one of `racks`. Absent: it is not told apart from others.
    #[serde(default)]
    pub rack_name: Option<String>,
}

/// The metal of the racks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum RackWord {
    /// Needs no stripping between runs.
    #[default]
    Titanium,
    /// Must be stripped before it is used again.
    Aluminium,
}

/// The tag of a plan file.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub enum PlanFormat {
    /// The only version so far.
    #[serde(rename = "dwellhand-plan/1")]
    V1,
}

/// A plan: timed moves of carriers. The start of a move is the only time in it; how long each phase takes follows
/// from the line file, so a copy of it could only go stale.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PlanFile {
    /// The JSON Schema of this file, for editors. Not read.
    #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
    pub schema: Option<String>,
    /// Always `dwellhand-plan/1`.
    pub format: PlanFormat,
    /// Fingerprint of the line, recipes and orders it was made for. Absent: not compared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// Seconds after the opening at which it was made; nothing in it starts earlier. Absent: 0.
    #[serde(default)]
    pub made_at: Seconds,
    /// The moves, in any order.
    pub moves: Vec<MoveShape>,
    /// What the plan is worth, part by part, as `dwellhand plan` prints it. Not read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worth: Option<serde_json::Value>,
    /// What the best other first move would cost, in words. Not read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instead: Option<String>,
}

/// One loaded move.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MoveShape {
    /// When it begins, in seconds after the opening: the hook, or the raise if the hoist is attached already.
    pub start: Seconds,
    /// Name of the carrier.
    pub carrier: String,
    /// Name of the hoist.
    pub hoist: String,
    /// Name of the tank or station where the carrier is picked up.
    pub from: String,
    /// Why it was there: `load`, `step 3`, `hold 3` (standby water after step 3), `stray 3` (astray, step 3 is
    /// next) or `unload`. Steps are counted from 1.
    pub leaves: String,
    /// Name of the tank or station where the carrier is put down.
    pub to: String,
    /// Why it goes there, in the words of `leaves`.
    pub visit: String,
    /// False if the hoist is attached already: the second half of a dip on the hook. Absent: true.
    #[serde(default = "yes", skip_serializing_if = "is_true")]
    pub attach: bool,
    /// False if the hoist stays attached: the first half of a dip on the hook. Absent: true.
    #[serde(default = "yes", skip_serializing_if = "is_true")]
    pub release: bool,
}

fn yes() -> bool {
    true
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde calls it with a reference")]
fn is_true(b: &bool) -> bool {
    *b
}

/// The tag of a drill file.
#[derive(Debug, Clone, Copy, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub enum DrillFormat {
    /// The only version so far.
    #[serde(rename = "dwellhand-drill/1")]
    V1,
}

/// A drill: a shift made for practice on a line and its recipes, and what happens on it by itself.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct DrillFile {
    /// The JSON Schema of this file, for editors. Not read.
    #[serde(rename = "$schema", default)]
    pub schema: Option<String>,
    /// Always `dwellhand-drill/1`.
    pub format: DrillFormat,
    /// Short name, as it is typed.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// What there is to learn, in a sentence or two.
    pub about: String,
    /// 1: plain. 2: tight windows. 3: upsets.
    pub difficulty: u8,
    /// How long it lasts, in hours.
    pub hours: f64,
    /// Seed of plans and of a simulated crew. Absent: 1.
    #[serde(default)]
    pub seed: Option<u64>,
    /// When the shift opens, as in an orders file.
    pub opens: String,
    /// Orders, as in an orders file; those that come in later too.
    pub orders: Vec<OrderShape>,
    /// What happens by itself, in any order.
    #[serde(default)]
    pub happens: Vec<HappensShape>,
}

/// One thing that happens by itself.
#[derive(Debug, Clone, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HappensShape {
    /// Time of day, `"HH:MM"`, before which it does not happen.
    pub at: String,
    /// What happens.
    pub what: HappensWord,
    /// Name of a stage: it waits until a load stands in a bath of it, but no longer than 30 minutes. Absent: it does not
    /// wait.
    #[serde(default)]
    pub within: Option<String>,
    /// The hoist that stops.
    #[serde(default)]
    pub hoist: Option<String>,
    /// The tank that goes out of service, or in which missing parts are seen some minutes later.
    #[serde(default)]
    pub tank: Option<String>,
    /// Why a tank goes out of service, as people are told: `"its rectifier has failed"`.
    #[serde(default)]
    pub why: Option<String>,
    /// How many minutes a stop or an outage lasts.
    #[serde(default)]
    pub minutes: Option<f64>,
    /// True if everybody knows how long a stop lasts. Absent: nobody knows.
    #[serde(default)]
    pub known: bool,
    /// The order of this file that comes in then and not at the opening.
    #[serde(default)]
    pub order: Option<String>,
    /// The carrier that is counted short.
    #[serde(default)]
    pub carrier: Option<String>,
    /// How many parts are missing from it.
    #[serde(default)]
    pub parts: Option<u32>,
}

/// What happens on a drill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HappensWord {
    /// A hoist stops: `hoist`, `minutes`, `known`.
    Stop,
    /// A tank goes out of service: `tank`, `minutes`.
    TankOut,
    /// An order comes in: `order`.
    Order,
    /// The next load that is put down turns out to be in the tank beside.
    WrongTank,
    /// A carrier that has come out is counted short: `carrier`, `parts`; with `tank` somebody sees the parts there.
    CountShort,
}
