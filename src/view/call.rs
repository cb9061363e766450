//! The call: one verb, one carrier, from, to, how long it may still wait, and why.

use super::answers::Said;
use super::doubt::Doubt;
use super::words::{Spot, clean, step_of, visit_words};
use super::{At, counts, marks};
use crate::ids::{CarrierId, HoistId, TankId};
use crate::line::{Harm, Visit};
use crate::plan::Call;
use crate::schedule::Move;
use crate::shift::alarm::{self, REACTION};
use crate::shift::{Place, State};
use crate::units::{Dur, Time};

/// Picks said this long before their set-out are asked about; less is a good operator being ready.
const EARLY: Dur = Dur::from_secs(10);

/// How many calls after the first are shown.
const NEXT_SHOWN: usize = 7;

/// What the operator does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verb {
    /// Take hold and raise.
    Pick,
    /// Lower and let go.
    Place,
    /// Raise a carrier that stayed on the hook for its dip.
    LiftOut,
}

impl Verb {
    /// The word on the screen.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pick => "PICK",
            Self::Place => "PLACE",
            Self::LiftOut => "LIFT OUT",
        }
    }
    /// A shorter word for where big letters leave no room.
    pub fn short(self) -> &'static str {
        match self {
            Self::LiftOut => "LIFT",
            other => other.word(),
        }
    }
}

/// What the big figures count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Count {
    /// Nothing limits the move.
    NoLimit,
    /// Time left until the latest safe start (for a place: until lowering must begin).
    Left(Dur),
    /// Time past the latest safe start.
    Over(Dur),
    /// Time until the hoist should set out.
    In(Dur),
}

/// How much a call presses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// There is time.
    Calm,
    /// The latest safe start is near.
    Soon,
    /// The latest safe start is past.
    Over,
}

/// Time in the air while a carrier hangs on a hook.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Air {
    /// So far, by the model of the raise.
    pub so_far: Dur,
    /// The longest allowed, if there is a limit.
    pub max: Option<Dur>,
    /// What too much of it does.
    pub harm: Harm,
}

/// The call as it is shown big.
#[derive(Debug, Clone, PartialEq)]
pub struct MainCall {
    /// What to do, or what comes when the waiting is over.
    pub verb: Verb,
    /// The set-out lies in the future: the hoist waits.
    pub wait: bool,
    /// The carrier's name.
    pub carrier: String,
    /// The hoist's name, where there are several.
    pub hoist: Option<String>,
    /// Where it is picked up.
    pub from: Spot,
    /// Where it is put down.
    pub to: Spot,
    /// What the move leads to: `step 4 of 14, rinse`.
    pub step: String,
    /// What the big figures count.
    pub count: Count,
    /// How much it presses.
    pub urgency: Urgency,
    /// The time of day the figures count to.
    pub by: Option<String>,
    /// How long the move may wait, as planned.
    pub slack: Option<Dur>,
    /// Why this move and no other.
    pub reason: String,
    /// It must not stop on the way.
    pub critical: bool,
    /// The air limit of the move to come or under way.
    pub air_max: Option<Dur>,
    /// Air time so far, while on the hook.
    pub air: Option<Air>,
    /// What a confirmation says.
    pub said: Said,
    /// A question to ask before a confirmation that can hardly be true or would do harm.
    pub early: Option<String>,
}

impl MainCall {
    /// The whole call as one plain sentence.
    pub fn plain(&self) -> String {
        let wait = if self.wait { "WAIT, then " } else { "" };
        let hoist = self.hoist.as_ref().map_or_else(String::new, |h| format!("{h}: "));
        format!("{hoist}{wait}{}", self.move_words())
    }

    /// What is moved from where to where.
    fn move_words(&self) -> String {
        match self.verb {
            Verb::Place => format!("PLACE {} in {}", self.carrier, self.to.words()),
            verb => {
                format!("{} {} from {} to {}", verb.word(), self.carrier, self.from.words(), self.to.words())
            }
        }
    }

    /// What the figures count, in words.
    pub fn caption(&self) -> &'static str {
        match (self.count, self.verb) {
            (Count::NoLimit, _) => "no limit",
            (Count::In(_), Verb::LiftOut) => "lift out in",
            (Count::In(_), _) => "set out in",
            (Count::Left(_), Verb::Place) => "lower within",
            (Count::Left(_), _) => "start within",
            (Count::Over(_), Verb::Place) => "TOO LONG IN AIR",
            (Count::Over(_), _) => "PAST LATEST START",
        }
    }
}

/// One of the calls that come after.
#[derive(Debug, Clone, PartialEq)]
pub struct NextCall {
    /// Which hoist, where there are several, and that it is stopped if it is.
    pub hoist: Option<String>,
    /// Its verb.
    pub verb: Verb,
    /// The carrier's name.
    pub carrier: String,
    /// Where from.
    pub from: Spot,
    /// Where to.
    pub to: Spot,
    /// When it starts, time of day.
    pub at: String,
    /// How long until it starts; zero if now or past.
    pub starts_in: Dur,
    /// How long it may wait.
    pub slack: Option<Dur>,
    /// It must not stop on the way.
    pub critical: bool,
    /// Why.
    pub reason: String,
}

impl NextCall {
    /// Hoist and verb.
    pub fn who_does_what(&self) -> String {
        let hoist = self.hoist.as_ref().map_or_else(String::new, |h| format!("{h} "));
        format!("{hoist}{}", self.verb.short())
    }
}

/// True if a move is the rest of one whose load hangs already, not a later one of the same carrier.
pub(super) fn is_under_way(state: &State, mv: &Move) -> bool {
    matches!(state.carriers[mv.carrier].place,
        Place::OnHook { from, leaves, .. } if (from, leaves) == (mv.from, mv.leaves))
}

/// When a move is to be made by a person's hand: a load is taken hold of, or begins to go down if it hangs already.
pub(super) fn begins(at: At<'_>, mv: &Move) -> Time {
    let phases = mv.phases(at.line, &at.state.book).filter(|_| is_under_way(at.state, mv));
    phases.map_or(mv.start, |p| mv.start + p.to_down() - p.lower).max(at.now)
}

/// When a load that hangs must begin to go down, and how long that is from now on; from when the plan has it go down, if its
/// hoist stands still.
pub(super) fn limit_in_air(at: At<'_>, id: CarrierId) -> (Option<Time>, Option<Dur>) {
    let by = alarm::lower_by(at.line, at.state, id);
    let Place::OnHook { hoist, .. } = at.state.carriers[id].place else { return (by, None) };
    let stands = at.state.standing.stop(hoist, at.now).is_some();
    let planned = || {
        let mut own = at.state.plan.as_ref()?.of(id);
        own.find(|m| is_under_way(at.state, m)).map(|m| begins(at, m))
    };
    let begins = planned().filter(|_| stands).unwrap_or(at.now);
    (by, by.map(|t| t - begins))
}

/// A load on a hook comes before everything else; otherwise the first call. What a stopped hoist is to do is no call.
pub(super) fn main_of(at: At<'_>, calls: &[Call]) -> Option<usize> {
    let runs = |c: &&Call| at.state.standing.stop(c.mv.hoist, at.now).is_none();
    let hanging = calls.iter().position(|c| runs(&c) && is_under_way(at.state, &c.mv));
    hanging.or_else(|| calls.iter().position(|c| runs(&c)))
}

/// What stands in place of the big letters of a call, in two pieces.
pub(super) fn rest_head(at: At<'_>) -> [String; 2] {
    let stops = || at.line.hoists.ids().filter_map(|h| marks::stop(at, h, &[]));
    if stops().count() == 0 {
        return ["NO".to_owned(), "CALL".to_owned()];
    }
    let first = at.state.standing.stopped.values().filter_map(|s| s.until).filter(|t| *t > at.now).min();
    let until = first.map(|t| format!("TILL {}", at.minutes(t)));
    ["STOPPED".to_owned(), until.unwrap_or_default()]
}

pub(super) fn rest_words(at: At<'_>, calls: &[Call]) -> String {
    let counts = counts(at.state);
    if !at.state.is_open() {
        return "The shift is not open yet.".to_owned();
    }
    let stopped: Vec<String> = at
        .line
        .hoists
        .iter()
        .filter_map(|(id, h)| {
            let load = at.state.hoists[id].carrier.map(|c| format!(", {} on its hook", at.carrier_name(c)));
            Some(format!(
                "Crane {} {}{}.",
                clean(&h.name),
                marks::stop(at, id, calls)?.words_with_plan(),
                load.unwrap_or_default()
            ))
        })
        .collect();
    if !stopped.is_empty() {
        let then = calls.first().map(|call| format!(" Then {}.", main_call(at, call).move_words()));
        return format!("{}{}", stopped.join(" "), then.unwrap_or_default());
    }
    if let Some((id, _)) = at.state.carriers.iter().find(|(_, c)| matches!(c.place, Place::OnHook { .. })) {
        return format!(
            "{} hangs on a hook and no plan says where it goes. x: say where you put it.",
            at.carrier_name(id)
        );
    }
    match (counts.on_line, counts.queued) {
        (0, 0) if counts.finished + counts.off_line + counts.cancelled > 0 => {
            "Every carrier is finished.".to_owned()
        }
        (0, 0) => "There are no carriers in this shift.".to_owned(),
        (0, _) => shut_words(at)
            .unwrap_or_else(|| "Nothing is on the line; the queue may not start yet.".to_owned()),
        _ => shut_words(at)
            .unwrap_or_else(|| "No move is planned; wait until the plan is made anew.".to_owned()),
    }
}

/// What keeps the queue where it is: no bar is started for a tank that nobody knows the return of.
fn shut_words(at: At<'_>) -> Option<String> {
    marks::lost_tanks(at).map(|(names, are)| {
        format!("{names} {are} out, nobody knows until when. Supervisor: w, take out, say a time.")
    })
}

fn verb(state: &State, call: &Call) -> Verb {
    if is_under_way(state, &call.mv) {
        Verb::Place
    } else if call.mv.attach {
        Verb::Pick
    } else {
        Verb::LiftOut
    }
}

pub(super) fn main_call(at: At<'_>, call: &Call) -> MainCall {
    let mv = &call.mv;
    let verb = verb(at.state, call);
    let recipe = at.recipe(mv.carrier);
    let place = at.state.carriers[mv.carrier].place;
    let air = air_now(at, call);
    let wait = verb != Verb::Place && call.set_out > at.now;
    // When it must begin, and when it is over: the same instant but for a load that has yet to be lowered.
    let limits = match place {
        Place::OnHook { .. } if verb == Verb::Place => {
            let begins = alarm::lower_by(at.line, at.state, mv.carrier);
            begins.map(|t| (t, t + at.line.hoists[mv.hoist].raise_lower().1))
        }
        // What was over from the beginning was so no sooner than it was put down.
        _ => {
            let down = at.state.carriers[mv.carrier].put_down().unwrap_or(Time::PAST);
            call.latest_start.map(|t| t.max(down)).map(|t| (t, t))
        }
    };
    let count = match limits {
        _ if wait => Count::In(call.set_out - at.now),
        None => Count::NoLimit,
        Some((begins, ends)) if ends >= at.now => Count::Left((begins - at.now).or_zero()),
        Some((begins, _)) => Count::Over(at.now - begins),
    };
    let urgency = match count {
        Count::Over(_) => Urgency::Over,
        Count::Left(d) if d <= REACTION => Urgency::Soon,
        _ => Urgency::Calm,
    };
    let by = if wait { Some(call.set_out) } else { limits.map(|(begins, _)| begins) };
    let said = match verb {
        Verb::Place => Said::Lower { hoist: mv.hoist, to: mv.to },
        _ => Said::Lift { carrier: mv.carrier, hoist: mv.hoist, from: mv.from },
    };
    let (k, n) = step_of(at.line, recipe, mv.visit);
    let what = visit_words(at.line, recipe, mv.visit);
    MainCall {
        verb,
        wait,
        carrier: at.carrier_name(mv.carrier),
        hoist: hoist_named(at, mv.hoist),
        from: Spot::of(at.line, mv.from),
        to: Spot::of(at.line, mv.to),
        step: if matches!(mv.visit, Visit::Step(_)) { format!("step {k} of {n}, {what}") } else { what },
        count,
        urgency,
        by: by.map(|t| at.clock(t) + marks::guess_mark(wait && call.guess)),
        slack: call.slack,
        reason: reason(at, call),
        critical: call.critical,
        air_max: call.air_max.filter(|d| !d.is_unlimited()),
        air,
        said,
        early: early(at, call, said),
    }
}

fn hoist_named(at: At<'_>, hoist: HoistId) -> Option<String> {
    (at.line.hoists.len() > 1).then(|| clean(&at.line.hoists[hoist].name))
}

fn air_now(at: At<'_>, call: &Call) -> Option<Air> {
    let Place::OnHook { hoist, leaves, lifted, .. } = at.state.carriers[call.mv.carrier].place else {
        return None;
    };
    let recipe = at.recipe(call.mv.carrier);
    let raised = lifted + at.line.hoists[hoist].raise_lower().0;
    let max = at.line.air_max(recipe, leaves);
    let harm = at.line.wet_step(recipe, leaves).map_or(Harm::Nuisance, |s| s.air);
    Some(Air { so_far: (at.now - raised).or_zero(), max: (!max.is_unlimited()).then_some(max), harm })
}

/// The question before a confirmation that comes too soon: one that is in doubt, or a pick long before its set-out, which is
/// not what was called for.
fn early(at: At<'_>, call: &Call, said: Said) -> Option<String> {
    let (carrier, recipe) = (call.mv.carrier, at.recipe(call.mv.carrier));
    let place = at.state.carriers[carrier].place;
    let last = put_down(at, call.mv.hoist);
    let doubt = Doubt::of(at.line, &at.carrier_name(carrier), recipe, place, said, last);
    let is_pick = matches!(said, Said::Lift { .. });
    let question = doubt.and_then(|d| d.question(at.now));
    question.or_else(|| before_set_out(at, call.set_out).filter(|_| is_pick))
}

/// Where a hoist put down last, and when.
pub(super) fn put_down(at: At<'_>, hoist: HoistId) -> Option<(TankId, Time)> {
    let was = &at.state.hoists[hoist];
    was.put_down.filter(|_| was.carrier.is_none())
}

fn before_set_out(at: At<'_>, set_out: Time) -> Option<String> {
    let ahead = set_out - at.now;
    (ahead > EARLY).then(|| format!("This is called for {}, in {ahead}.", at.clock(set_out)))
}

pub(super) fn next_calls(at: At<'_>, calls: &[Call], main: Option<usize>) -> Vec<NextCall> {
    calls
        .iter()
        .enumerate()
        .filter(|(ix, _)| Some(*ix) != main)
        .take(NEXT_SHOWN)
        .map(|(ix, call)| NextCall {
            hoist: hoist_named(at, call.mv.hoist).map(|name| {
                let stands = at.state.standing.stop(call.mv.hoist, at.now).is_some();
                if stands { format!("{name} (stopped)") } else { name }
            }),
            // Only the first of its moves can be under way.
            verb: if call.mv.attach && calls[..ix].iter().any(|c| c.mv.carrier == call.mv.carrier) {
                Verb::Pick
            } else {
                verb(at.state, call)
            },
            carrier: at.carrier_name(call.mv.carrier),
            from: Spot::of(at.line, call.mv.from),
            to: Spot::of(at.line, call.mv.to),
            at: at.clock(begins(at, &call.mv)) + marks::guess_mark(call.guess),
            starts_in: begins(at, &call.mv) - at.now,
            slack: if is_under_way(at.state, &call.mv) {
                limit_in_air(at, call.mv.carrier).1
            } else {
                call.slack
            },
            critical: call.critical,
            reason: sentence(&call.short_reason_at(at.line, &at.state.book, at.now)),
        })
        .collect()
}

/// The reason as a sentence.
pub(super) fn reason(at: At<'_>, call: &Call) -> String {
    sentence(&call.reason_at(at.line, &at.state.book, at.now))
}

fn sentence(text: &str) -> String {
    let text = clean(text);
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
