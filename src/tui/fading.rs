//! Takes an answer out of the key line after a while of real time, one that is too long for it part by part: the time of the
//! shift may stand still.

use std::time::{Duration, Instant};

use super::app::{ANSWER_STAYS, App};

/// The answer in the key line, and since when it is there.
#[derive(Debug, Default)]
pub(super) struct Fading {
    told: Option<(String, Instant)>,
}

impl Fading {
    /// Goes on to the next part of what has been there for long enough at `now`; takes it away after the last.
    pub fn fade(&mut self, app: &mut App, now: Instant) {
        let cells = app.desk.cells;
        let Some(message) = &mut app.message else {
            self.told = None;
            return;
        };
        let since = match &self.told {
            Some((before, since)) if *before == message.text => *since,
            _ => self.told.insert((message.text.clone(), now)).1,
        };
        message.part = (now - since).as_secs() as usize / ANSWER_STAYS as usize;
        let parts = u32::try_from(message.parts(cells).len()).unwrap_or(u32::MAX);
        if now - since > Duration::from_secs(ANSWER_STAYS.into()) * parts {
            (app.message, self.told) = (None, None);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::app::Post;
    use crate::units::Time;

    /// All of a long answer is to be read, a part at a time, each for as long as a short answer.
    #[test]
    fn a_long_answer_is_shown_part_by_part() {
        let (line, recipes, _) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).expect("the demo's line is sound").value;
        let mut app = App::new(std::sync::Arc::new(line), Post::Operator, false, false);
        let text = "B04 was lifted out of T13 2:10 before its shortest dwell was over and is to be put back, or said to be done";
        app.done(text, Time::ZERO);
        let (mut fading, begun) = (Fading::default(), Instant::now());
        let mut seen: Vec<String> = Vec::new();
        for second in 0..60 {
            fading.fade(&mut app, begun + Duration::from_secs(second));
            let Some(message) = &app.message else { break };
            let mut parts = message.parts(80);
            let part = parts.swap_remove(message.part.min(parts.len() - 1));
            assert!(part.len() <= 74, "{part}");
            seen.push(part);
        }
        assert_eq!(seen.len(), 17, "twice eight seconds: {seen:#?}");
        seen.dedup();
        let whole: Vec<&str> = seen.iter().filter_map(|part| part.split(" (").next()).collect();
        assert_eq!(whole.join(" "), text);
    }
}
