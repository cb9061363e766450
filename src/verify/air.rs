//! Between two immersions a carrier is out of liquid no longer than its sheet allows: raise done to lower begun.

use super::story::Story;
use super::{Breach, Rule, figure, motion};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for leg in &story.legs {
        let mv = &leg.mv;
        let Some(step) = story.sheet(mv.carrier).and_then(|s| s.wet(mv.leaves)) else { continue };
        let (raise, _) = motion::stroke(story.line, mv.hoist);
        let out_of_liquid = leg.lifted + raise;
        let air = leg.t.lower - out_of_liquid;
        if air > step.air_max {
            let by = air - step.air_max;
            let text = format!(
                "{} from {} to {}: air time {} is {} over the longest {} ({})",
                story.carrier(mv.carrier),
                story.tank_in_words(mv.from),
                story.tank_in_words(mv.to),
                figure(air),
                figure(by),
                figure(step.air_max),
                step.air.word()
            );
            let place = story.tank(mv.from);
            let when = (out_of_liquid + step.air_max, by);
            found.push(story.breach(Rule::Air, Some(step.air), mv.carrier, place, when, text));
        }
    }
}
