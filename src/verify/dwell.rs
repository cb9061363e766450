//! Every dwell ends inside its window. A dwell that never ends is a dead end, which `chain` reports.

use super::story::Story;
use super::{Breach, Rule, figure};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for soak in &story.soaks {
        let Some(out) = soak.out else { continue };
        let Some(window) = story.sheet(soak.carrier).and_then(|s| s.window(soak.visit)) else { continue };
        if out.lift < soak.down {
            // Lifted before it is down: `chain` reports that.
            continue;
        }
        let dwell = out.lift - soak.down;
        let what = format!("{} in {}", story.carrier(soak.carrier), story.tank_in_words(soak.tank));
        if dwell < window.min {
            let by = window.min - dwell;
            let text = format!(
                "{what}: dwell {} is {} under the shortest {} ({})",
                figure(dwell),
                figure(by),
                figure(window.min),
                window.under.word()
            );
            let place = story.tank(soak.tank);
            let when = (out.lift, by);
            found.push(story.breach(Rule::Under, Some(window.under), soak.carrier, place, when, text));
        }
        if dwell > window.max {
            let by = dwell - window.max;
            let text = format!(
                "{what}: dwell {} is {} over the longest {} ({})",
                figure(dwell),
                figure(by),
                figure(window.max),
                window.over.word()
            );
            let place = story.tank(soak.tank);
            let when = (soak.down + window.max, by);
            found.push(story.breach(Rule::Over, Some(window.over), soak.carrier, place, when, text));
        }
    }
}
