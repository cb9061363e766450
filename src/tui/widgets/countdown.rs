//! Figures that count: always the same width, so that nothing moves when a digit changes.

use crate::tui::theme::Role;
use crate::units::Dur;
use crate::view::{Count, Urgency};

/// `mm:ss`, `hhHmm` from 100 minutes up. Part seconds are cut: what is shown as left is really left.
pub fn figures(d: Dur) -> String {
    let s = d.whole_secs().max(0);
    if s < 6000 { format!("{:02}:{:02}", s / 60, s % 60) } else { format!("{}H{:02}", s / 3600, s / 60 % 60) }
}

/// The big figures of a call.
pub fn big(count: Count) -> String {
    match count {
        Count::NoLimit => "--:--".to_owned(),
        Count::Left(d) | Count::In(d) => figures(d),
        Count::Over(d) => format!("+{}", figures(d)),
    }
}

/// Time left in a row: `4:10`, or `+0:25` past the end.
pub fn left(d: Option<Dur>) -> String {
    d.map_or_else(|| "-".to_owned(), Dur::as_left)
}

/// How long after its promise something is done: `LATE 27 min`, `LATE 2h05`. A minute that has begun counts.
pub fn late(by: Dur) -> String {
    format!("LATE {}", by.in_minutes())
}

/// The field behind the figures.
pub fn role(urgency: Urgency) -> Role {
    match urgency {
        Urgency::Calm => Role::Strong,
        Urgency::Soon => Role::Soon,
        Urgency::Over => Role::Over,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_their_width() {
        assert_eq!(figures(Dur::from_secs(0)), "00:00");
        assert_eq!(figures(Dur(999)), "00:00");
        assert_eq!(figures(Dur::from_secs(5999)), "99:59");
        assert_eq!(figures(Dur::from_secs(6000)), "1H40");
        assert_eq!(big(Count::Over(Dur::from_secs(12))), "+00:12");
        assert_eq!(left(Some(Dur::from_secs(-25))), "+0:25");
        let all = [1, 60, 1673, 3540, 3600, 7440].map(|s| late(Dur::from_secs(s)));
        assert_eq!(all, ["LATE 1 min", "LATE 1 min", "LATE 27 min", "LATE 59 min", "LATE 1h00", "LATE 2h04"]);
    }
}
