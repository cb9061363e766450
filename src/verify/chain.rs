//! Each carrier's moves follow from where it is, from one another and from its recipe.
//!
//! 1. A move begins where the carrier is and leaves the visit it is on.
//! 2. The next visit is one the recipe allows; a load under way may also be put back where it came from.
//! 3. The tanks are of the kind the visits ask for; the first is on the order's entry side.
//! 4. The hoist takes hold and lets go unless the dwell in between is on the hook, and then it is the same hoist.
//! 5. Nothing is lifted before it is down.

use super::sheet::Sheet;
use super::story::{Leg, Story};
use super::{Breach, Rule, change, figure};
use crate::ids::{CarrierId, HoistId, Id as _, TankId};
use crate::line::{EntrySide, Visit};
use crate::shift::Place;
use crate::units::Dur;

/// Where a carrier is before its next move.
struct Here {
    tank: Option<TankId>,
    visit: Visit,
    /// The hoist that is attached, if any.
    held: Option<HoistId>,
    /// False where the past decides whether the next move begins with a hook.
    judge_hook: bool,
}

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for (carrier, c) in story.state.carriers.iter() {
        let legs = story.legs_of(carrier);
        let here = match c.place {
            Place::Queued => Here { tank: None, visit: Visit::Load, held: None, judge_hook: true },
            Place::InTank { tank, visit, hooked, .. } => {
                Here { tank: Some(tank), visit, held: hooked, judge_hook: true }
            }
            Place::OnHook { hoist, from, leaves, .. } => {
                Here { tank: Some(from), visit: leaves, held: Some(hoist), judge_hook: false }
            }
            Place::Finished { .. } | Place::OffLine => {
                for leg in legs {
                    fault(story, found, leg, format!("{} is off the line", story.carrier(carrier)));
                }
                continue;
            }
        };
        follow(story, found, carrier, here, legs);
    }
}

fn follow(story: &Story, found: &mut Vec<Breach>, carrier: CarrierId, mut here: Here, legs: &[Leg]) {
    let Some(sheet) = story.sheet(carrier) else { return };
    let spec = &story.state.book.carriers[carrier];
    let name = &spec.name;
    let mut before: Option<&Leg> = None;
    for leg in legs {
        let mv = &leg.mv;
        let from = story.tank_in_words(mv.from);
        let to = story.tank_in_words(mv.to);
        if here.tank.is_some_and(|t| t != mv.from) {
            let really = here.tank.map(|t| story.tank_in_words(t)).unwrap_or_default();
            fault(story, found, leg, format!("{name} is to leave {from} but is in {really}"));
        }
        if here.visit != mv.leaves {
            let text = format!("{name} is to leave {} at {from} but is there for {}", mv.leaves, here.visit);
            fault(story, found, leg, text);
        }
        if mv.leaves == Visit::Load && !leg.under_way {
            if !sheet.fits(Visit::Load, mv.from) {
                fault(story, found, leg, format!("{name} is to start at {from}, which is no load station"));
            }
            if let Some(order) = story.state.book.orders.get(spec.order)
                && let EntrySide::At(side) = order.entry
                && side != mv.from
            {
                let side = story.tank_in_words(side);
                fault(story, found, leg, format!("{name} is to start at {from}, its order enters at {side}"));
            }
        }
        let put_back = leg.under_way && mv.to == mv.from && mv.visit == mv.leaves;
        let parks = change::is_parking(story, leg) && parks_as(&sheet, mv.leaves, mv.visit);
        if !put_back && !parks && !sheet.followers(mv.leaves).contains(&mv.visit) {
            let text = format!("{name} may not go from {} to {} by its recipe", mv.leaves, mv.visit);
            fault(story, found, leg, text);
        }
        if !put_back && !sheet.fits(mv.visit, mv.to) {
            fault(story, found, leg, format!("{name} is to go to {to}, which is not for {}", mv.visit));
        }
        if here.held.is_some_and(|h| h != mv.hoist) {
            let holder = here.held.map(|h| story.hoist(h)).unwrap_or_default();
            let text =
                format!("{name} is held by {holder} at {from}, {} is to move it", story.hoist(mv.hoist));
            fault(story, found, leg, text);
        }
        if here.judge_hook && mv.attach != here.held.is_none() {
            let text = if mv.attach {
                format!("{} is to take hold of {name} at {from} but holds it already", story.hoist(mv.hoist))
            } else {
                format!("{} is to lift {name} from {from} without taking hold", story.hoist(mv.hoist))
            };
            fault(story, found, leg, text);
        }
        if mv.release == sheet.on_hook(mv.visit) {
            let text = if mv.release {
                format!("{name} is to be let go in {to}, a dip on the hook")
            } else {
                format!("{name} is not to be let go in {to}, which is no dip on the hook")
            };
            fault(story, found, leg, text);
        }
        if let Some(b) = before
            && leg.t.lift < b.t.down
        {
            let by = b.t.down - leg.t.lift;
            let text = format!("{name} is to be lifted from {from} {} before it is down there", figure(by));
            let place = story.tank(mv.from);
            found.push(story.breach(Rule::Chain, None, carrier, place, (leg.t.lift, by), text));
        }
        here = Here {
            tank: Some(mv.to),
            visit: mv.visit,
            held: (!mv.release).then_some(mv.hoist),
            judge_hook: true,
        };
        before = Some(leg);
    }
}

/// True if a visit says of standby water what it is to a carrier that is parked there: what its sheet allows, or a place
/// it goes on from with what came next.
fn parks_as(sheet: &Sheet, leaves: Visit, visit: Visit) -> bool {
    let next = match leaves {
        Visit::Load => Some(0),
        Visit::Step(n) | Visit::Hold(n) => Some(n.ix() + 1),
        Visit::Stray { resume } => Some(resume.ix()),
        Visit::Unload => None,
    };
    match visit {
        Visit::Stray { resume } => next == Some(resume.ix()),
        Visit::Hold(n) => next == Some(n.ix() + 1) && sheet.step(n).is_some_and(|s| s.hold.is_some()),
        _ => false,
    }
}

fn fault(story: &Story, found: &mut Vec<Breach>, leg: &Leg, text: String) {
    let place = story.tank(leg.mv.from);
    found.push(story.breach(Rule::Chain, None, leg.mv.carrier, place, (leg.mv.start, Dur::ZERO), text));
}
