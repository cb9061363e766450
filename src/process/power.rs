//! Current, DC power and power from the mains, of one load and of several at once.

use super::answer::Answer;
use super::basis;
use super::quantity::{Amps, Area, CurrentDensity, Input, Kilowatts, Ratio, Refusal, Volts, number};

/// Surface of a load.
pub const AREA: Input<Area> =
    Input::new("area", 0.01, 100_000.0, "from a test coupon to more than any flight bar holds");
/// A load's current.
pub const AMPS: Input<Amps> = Input::new("amps", 0.1, 50_000.0, "no anodising rectifier gives more");
/// A load's voltage.
pub const VOLTS: Input<Volts> =
    Input::new("volts", 1.0, 120.0, "Type II takes 12-22 V, hard coat up to about 100 V");
/// Most DC power.
pub const CAP: Input<Kilowatts> = Input::new("cap", 0.1, 10_000.0, "the limit of a shop's supply");
/// Rectifier efficiency.
pub const EFFICIENCY: Input<Ratio> =
    Input::new("efficiency", 0.5, 1.0, "a share of the mains power, as 0.85 or 85%");

/// Efficiency where none is given; common practice.
const USUAL_EFFICIENCY: Ratio = Ratio(0.85);

/// A load under current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Its current.
    pub amps: Amps,
    /// Its voltage.
    pub volts: Volts,
}

impl Load {
    /// Reads `600A 18V`, `600A x 18V` or `600@18`.
    pub fn read(text: &str) -> Result<Self, Refusal> {
        let parts = text.split_once(['@', 'x', 'X', '*']).or_else(|| text.trim().rsplit_once(' '));
        let (amps, volts) = parts.ok_or_else(|| Refusal {
            what: "load",
            found: text.chars().filter(|c| !c.is_control()).take(40).collect(),
            expected: "current and voltage, such as \"600A x 18V\"".to_owned(),
        })?;
        Ok(Self { amps: AMPS.read(amps)?, volts: VOLTS.read(volts)? })
    }
}

/// Current of a surface.
pub fn current(area: Area, density: CurrentDensity) -> Amps {
    Amps(area.0 * density.0)
}

/// DC power.
pub fn dc(amps: Amps, volts: Volts) -> Kilowatts {
    Kilowatts(amps.0 * volts.0 / 1000.0)
}

/// Power of loads that are under current at once.
pub fn power(loads: &[Load], efficiency: Option<Ratio>, cap: Option<Kilowatts>) -> Answer {
    let mut answer = Answer::default();
    if loads.len() > 1 {
        for (n, load) in loads.iter().enumerate() {
            let what = format!("load {}, {} x {}", n + 1, load.amps, load.volts);
            answer.figure("load_dc_kw", what, dc(load.amps, load.volts).0, "kW", &basis::DC_POWER);
        }
    }
    let sum = Kilowatts(loads.iter().map(|l| dc(l.amps, l.volts).0).sum());
    drawn(&mut answer, sum, efficiency, cap);
    if let Some(cap) = cap
        && sum.0 > cap.0
        && loads.len() > 1
        && loads.iter().all(|l| dc(l.amps, l.volts).0 <= cap.0)
    {
        answer.remark("Each load alone is within the limit: one after the other they can run.");
    }
    answer
}

/// DC and mains power; the answer is no above the cap.
pub(super) fn drawn(answer: &mut Answer, dc: Kilowatts, efficiency: Option<Ratio>, cap: Option<Kilowatts>) {
    answer.figure("dc_kw", "DC power", dc.0, "kW", &basis::DC_POWER);
    let share = efficiency.unwrap_or(USUAL_EFFICIENCY).0;
    answer.figure(
        "mains_kw",
        format!("from the mains at {} %", number(share * 100.0)),
        dc.0 / share,
        "kW",
        &basis::MAINS,
    );
    if let Some(cap) = cap.filter(|cap| dc.0 > cap.0) {
        answer.refuse(format!("{dc} DC is over the limit of {cap}."));
    }
}

/// A remark where the voltage is unusual.
pub(super) fn usual_volts(answer: &mut Answer, volts: Volts) {
    if !(12.0..=22.0).contains(&volts.0) {
        let basis = basis::USUAL_VOLTS;
        answer.remark(format!("{volts} is unusual: {} ({}).", basis.rule, basis.standing.words()));
    }
}
