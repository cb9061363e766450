//! The stored form of a learned pace: hoists by name with thousandths of the model's time, reserves in milliseconds.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Bad, Names};
use crate::shift::Pace;
use crate::units::Dur;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WirePace {
    stretch: BTreeMap<String, u16>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    critical: Option<i64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    short: Option<i64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    other: Option<i64>,
}

impl Names<'_> {
    pub(super) fn write_pace(self, pace: &Pace) -> WirePace {
        let stretch = pace.stretch.iter().map(|(hoist, stretch)| (self.hoist_name(*hoist), *stretch));
        let ms = |d: Option<Dur>| d.map(|d| d.0);
        WirePace {
            stretch: stretch.collect(),
            critical: ms(pace.critical),
            short: ms(pace.short),
            other: ms(pace.other),
        }
    }

    pub(super) fn read_pace(self, wire: WirePace) -> Result<Pace, Bad> {
        let mut stretch = BTreeMap::new();
        for (hoist, thousandths) in wire.stretch {
            if !(500..=3000).contains(&thousandths) {
                return Err(Bad::new(format!("a stretch of {thousandths}"), "500 to 3000 thousandths"));
            }
            stretch.insert(self.hoist(&hoist)?, thousandths);
        }
        let reserve = |ms: Option<i64>| match ms {
            Some(ms) if !(0..=600_000).contains(&ms) => {
                Err(Bad::new(format!("a reserve of {ms} ms"), "0 to 600000 ms"))
            }
            ms => Ok(ms.map(Dur)),
        };
        let (critical, short) = (reserve(wire.critical)?, reserve(wire.short)?);
        Ok(Pace { stretch, critical, short, other: reserve(wire.other)? })
    }
}
