//! A hoist is asked only to stand where it can and to make moves that have a time.

use super::story::Story;
use super::{Breach, Rule, motion};
use crate::units::Dur;

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for leg in &story.legs {
        let mv = &leg.mv;
        let hoist = story.hoist(mv.hoist);
        for tank in [mv.from, mv.to] {
            if !motion::stands_over(story.line, mv.hoist, tank) {
                let text = format!(
                    "{} is to be moved by {hoist}, which does not reach {}",
                    story.carrier(mv.carrier),
                    story.tank_in_words(tank)
                );
                let when = (mv.start, Dur::ZERO);
                found.push(story.breach(Rule::Reach, None, mv.carrier, story.tank(tank), when, text));
            }
        }
        if !leg.timed {
            let text = format!(
                "{}: {hoist} has no time for a loaded move from {} to {}",
                story.carrier(mv.carrier),
                story.tank_in_words(mv.from),
                story.tank_in_words(mv.to)
            );
            let when = (mv.start, Dur::ZERO);
            found.push(story.breach(Rule::Reach, None, mv.carrier, story.tank(mv.to), when, text));
        }
    }
}
