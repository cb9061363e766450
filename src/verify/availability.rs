//! Tanks are used only while they are ready and in service.

use super::story::Story;
use super::{Breach, Rule, figure};
use crate::shift::Place;
use crate::units::Dur;

/// Nobody goes into a tank that nobody knows the return of sooner than this.
const SOONEST: Dur = Dur::from_mins(5);

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for soak in &story.soaks {
        let mut open = story.state.tanks[soak.tank];
        let waits = story.state.carriers[soak.carrier].place == Place::Queued;
        if open.lost.is_some() && !waits {
            open.from = story.made_at + SOONEST;
        }
        let names = || (story.carrier(soak.carrier), story.tank_in_words(soak.tank));
        if !soak.already && soak.down < open.from {
            let by = open.from - soak.down;
            let (name, tank) = names();
            let text = format!(
                "{name} goes into {tank} at {}, {} before it is ready ({})",
                soak.down,
                figure(by),
                open.from
            );
            let place = story.tank(soak.tank);
            found.push(story.breach(Rule::Availability, None, soak.carrier, place, (soak.down, by), text));
        }
        // What is in a tank that went out already cannot be helped any more.
        let too_late_to_help = soak.already && open.until <= story.made_at;
        let end = soak.out.map_or(soak.down, |out| out.lift);
        if !too_late_to_help && end > open.until {
            let by = end - open.until;
            let (name, tank) = names();
            let text = format!(
                "{name} is in {tank} until {end}, {} after it goes out of service ({})",
                figure(by),
                open.until
            );
            let place = story.tank(soak.tank);
            found.push(story.breach(
                Rule::Availability,
                None,
                soak.carrier,
                place,
                (open.until.max(soak.down), by),
                text,
            ));
        }
    }
}
