//! Nothing is planned for the past, and nothing is lifted before it is racked.

use super::story::Story;
use super::{Breach, Rule, figure};
use crate::line::Visit;

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for leg in &story.legs {
        let mv = &leg.mv;
        let names = || (story.carrier(mv.carrier), story.tank(mv.from));
        if leg.under_way {
            if leg.t.lift < leg.lifted {
                let by = leg.lifted - leg.t.lift;
                let (name, tank) = names();
                let text = format!(
                    "{name} was lifted from {} at {}, the plan says {} earlier",
                    story.tank_in_words(mv.from),
                    leg.lifted,
                    figure(by)
                );
                found.push(story.breach(Rule::Start, None, mv.carrier, tank, (leg.t.lift, by), text));
            }
            if leg.t.down < story.made_at {
                let by = story.made_at - leg.t.down;
                let (name, tank) = names();
                let text = format!(
                    "{name} still hangs on {} at {}, the plan has it down in {} {} earlier",
                    story.hoist(mv.hoist),
                    story.made_at,
                    story.tank_in_words(mv.to),
                    figure(by)
                );
                found.push(story.breach(Rule::Start, None, mv.carrier, tank, (leg.t.down, by), text));
            }
        } else if mv.start < story.made_at {
            let by = story.made_at - mv.start;
            let (name, tank) = names();
            let text = format!(
                "{name} from {} to {}: starts at {}, {} before the plan was made ({})",
                story.tank_in_words(mv.from),
                story.tank_in_words(mv.to),
                mv.start,
                figure(by),
                story.made_at
            );
            found.push(story.breach(Rule::Start, None, mv.carrier, tank, (mv.start, by), text));
        }
        let ready = story.state.book.carriers[mv.carrier].ready;
        if mv.leaves == Visit::Load && !leg.under_way && mv.start < ready {
            let by = ready - mv.start;
            let (name, tank) = names();
            let text = format!("{name} starts at {}, {} before it is racked ({ready})", mv.start, figure(by));
            found.push(story.breach(Rule::Start, None, mv.carrier, tank, (mv.start, by), text));
        }
    }
}
