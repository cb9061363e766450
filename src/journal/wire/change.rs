//! The stored form of changes: one flat object, told apart by `do`. Steps count from 1, limits that are missing are none.

use serde::{Deserialize, Serialize};

use super::{Bad, Names, WireCarrier, WireOrder, time};
use crate::ids::{Id as _, OrderId, StepNo};
use crate::line::{CarrierSpec, EntrySide};
use crate::shift::{Bench, Change, StopCause, Whose, Window};
use crate::units::Dur;

#[derive(Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum WireChange {
    Hold {
        carrier: String,
    },
    Release {
        carrier: String,
    },
    Park {
        carrier: String,
        /// Any that the sheet allows if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tank: Option<String>,
    },
    BringBack {
        carrier: String,
    },
    Quarantine {
        tank: String,
    },
    Free {
        tank: String,
    },
    StopHoist {
        hoist: String,
        cause: WireCause,
        /// Nobody knows if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        until: Option<i64>,
    },
    RunHoist {
        hoist: String,
    },
    SlowHoist {
        hoist: String,
        percent: u8,
    },
    Promise {
        order: String,
        priority: super::WirePriority,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        due: Option<i64>,
    },
    Reorder {
        carriers: Vec<String>,
    },
    AddOrder {
        order: WireOrder,
        carriers: Vec<WireCarrier>,
    },
    CancelOrder {
        order: String,
    },
    Split {
        order: String,
        carriers: Vec<String>,
        name: String,
    },
    Dwell {
        /// Either this or the order.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        carrier: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        order: Option<String>,
        step: usize,
        min: i64,
        target: i64,
        /// No limit if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        max: Option<i64>,
    },
    Entry {
        /// All orders if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        order: Option<String>,
        /// Any load station if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        station: Option<String>,
    },
    Rework {
        carrier: String,
        recipe: String,
    },
    Lend {
        carrier: String,
        bench: String,
        min: i64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        max: Option<i64>,
        resume: usize,
    },
    Back {
        carrier: String,
        /// A load station if it is missing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tank: Option<String>,
    },
}

#[derive(Serialize, Deserialize, Clone, Copy)]
#[serde(rename_all = "kebab-case")]
pub(super) enum WireCause {
    Break,
    Fault,
}

impl From<StopCause> for WireCause {
    fn from(cause: StopCause) -> Self {
        match cause {
            StopCause::Break => Self::Break,
            StopCause::Fault => Self::Fault,
        }
    }
}

impl From<WireCause> for StopCause {
    fn from(cause: WireCause) -> Self {
        match cause {
            WireCause::Break => Self::Break,
            WireCause::Fault => Self::Fault,
        }
    }
}

impl Names<'_> {
    pub(super) fn write_change(self, change: &Change) -> WireChange {
        match change {
            Change::Hold { carrier } => WireChange::Hold { carrier: self.carrier_name(*carrier) },
            Change::Release { carrier } => WireChange::Release { carrier: self.carrier_name(*carrier) },
            Change::Park { carrier, tank } => WireChange::Park {
                carrier: self.carrier_name(*carrier),
                tank: tank.map(|t| self.tank_name(t)),
            },
            Change::BringBack { carrier } => WireChange::BringBack { carrier: self.carrier_name(*carrier) },
            Change::Quarantine { tank } => WireChange::Quarantine { tank: self.tank_name(*tank) },
            Change::Free { tank } => WireChange::Free { tank: self.tank_name(*tank) },
            Change::StopHoist { hoist, cause, until } => WireChange::StopHoist {
                hoist: self.hoist_name(*hoist),
                cause: (*cause).into(),
                until: until.map(|t| t.0),
            },
            Change::RunHoist { hoist } => WireChange::RunHoist { hoist: self.hoist_name(*hoist) },
            Change::SlowHoist { hoist, percent } => {
                WireChange::SlowHoist { hoist: self.hoist_name(*hoist), percent: *percent }
            }
            Change::Promise { order, priority, due } => WireChange::Promise {
                order: self.order_name(*order),
                priority: (*priority).into(),
                due: due.map(|t| t.0),
            },
            Change::Reorder { carriers } => {
                WireChange::Reorder { carriers: carriers.iter().map(|c| self.carrier_name(*c)).collect() }
            }
            Change::AddOrder { order, carriers } => WireChange::AddOrder {
                order: self.write_order(order),
                carriers: carriers.iter().map(|c| self.write_spec(c, &order.name)).collect(),
            },
            Change::CancelOrder { order } => WireChange::CancelOrder { order: self.order_name(*order) },
            Change::Split { order, carriers, name } => WireChange::Split {
                order: self.order_name(*order),
                carriers: carriers.iter().map(|c| self.carrier_name(*c)).collect(),
                name: name.clone(),
            },
            Change::Dwell { whose, step, window } => {
                let (carrier, order) = match whose {
                    Whose::Carrier(carrier) => (Some(self.carrier_name(*carrier)), None),
                    Whose::Order(order) => (None, Some(self.order_name(*order))),
                };
                let max = (!window.max.is_unlimited()).then_some(window.max.0);
                WireChange::Dwell {
                    carrier,
                    order,
                    step: step.ix() + 1,
                    min: window.min.0,
                    target: window.target.0,
                    max,
                }
            }
            Change::Entry { order, side } => WireChange::Entry {
                order: order.map(|o| self.order_name(o)),
                station: match side {
                    EntrySide::Any => None,
                    EntrySide::At(tank) => Some(self.tank_name(*tank)),
                },
            },
            Change::Rework { carrier, recipe } => WireChange::Rework {
                carrier: self.carrier_name(*carrier),
                recipe: self.line.recipes[*recipe].name.clone(),
            },
            Change::Lend { carrier, bench } => WireChange::Lend {
                carrier: self.carrier_name(*carrier),
                bench: bench.name.clone(),
                min: bench.min.0,
                max: (!bench.max.is_unlimited()).then_some(bench.max.0),
                resume: bench.resume.ix() + 1,
            },
            Change::Back { carrier, tank } => WireChange::Back {
                carrier: self.carrier_name(*carrier),
                tank: tank.map(|t| self.tank_name(t)),
            },
        }
    }

    pub(super) fn read_change(self, wire: WireChange) -> Result<Change, Bad> {
        let carriers = |names: &[String]| names.iter().map(|n| self.carrier(n)).collect::<Result<_, Bad>>();
        Ok(match wire {
            WireChange::Hold { carrier } => Change::Hold { carrier: self.carrier(&carrier)? },
            WireChange::Release { carrier } => Change::Release { carrier: self.carrier(&carrier)? },
            WireChange::Park { carrier, tank } => Change::Park {
                carrier: self.carrier(&carrier)?,
                tank: tank.map(|t| self.tank(&t)).transpose()?,
            },
            WireChange::BringBack { carrier } => Change::BringBack { carrier: self.carrier(&carrier)? },
            WireChange::Quarantine { tank } => Change::Quarantine { tank: self.tank(&tank)? },
            WireChange::Free { tank } => Change::Free { tank: self.tank(&tank)? },
            WireChange::StopHoist { hoist, cause, until } => Change::StopHoist {
                hoist: self.hoist(&hoist)?,
                cause: cause.into(),
                until: until.map(time).transpose()?,
            },
            WireChange::RunHoist { hoist } => Change::RunHoist { hoist: self.hoist(&hoist)? },
            WireChange::SlowHoist { percent, .. } if !(1..=100).contains(&percent) => {
                return Err(Bad::new(format!("a speed of {percent} per cent"), "1 to 100"));
            }
            WireChange::SlowHoist { hoist, percent } => {
                Change::SlowHoist { hoist: self.hoist(&hoist)?, percent }
            }
            WireChange::Promise { order, priority, due } => Change::Promise {
                order: self.order(&order)?,
                priority: priority.into(),
                due: due.map(time).transpose()?,
            },
            WireChange::Reorder { carriers: names } => Change::Reorder { carriers: carriers(&names)? },
            WireChange::AddOrder { order, carriers } => {
                let id = OrderId(
                    u16::try_from(self.book.orders.len())
                        .map_err(|_| Bad::new("too many orders", format!("at most {}", u16::MAX)))?,
                );
                if self.book.carriers.len() + carriers.len() > usize::from(u16::MAX) {
                    return Err(Bad::new("too many carriers", format!("at most {}", u16::MAX)));
                }
                let name = order.name.clone();
                let specs = carriers.into_iter().map(|c| {
                    if c.order != name {
                        return Err(Bad::new(format!("the order {:?}", c.order), format!("{name:?}")));
                    }
                    self.read_spec(c, id)
                });
                let carriers = specs.collect::<Result<Vec<CarrierSpec>, Bad>>()?;
                Change::AddOrder { order: Box::new(self.read_order(order)?), carriers }
            }
            WireChange::CancelOrder { order } => Change::CancelOrder { order: self.order(&order)? },
            WireChange::Split { order, carriers: names, name } => {
                Change::Split { order: self.order(&order)?, carriers: carriers(&names)?, name }
            }
            WireChange::Dwell { carrier, order, step, min, target, max } => {
                let (whose, most) = match (carrier, order) {
                    (Some(carrier), None) => {
                        let carrier = self.carrier(&carrier)?;
                        (Whose::Carrier(carrier), self.steps(carrier))
                    }
                    (None, Some(order)) => {
                        let order = self.order(&order)?;
                        let recipe = self.book.orders[order].recipe;
                        (Whose::Order(order), self.line.recipes[recipe].steps.len())
                    }
                    _ => return Err(Bad::new("a dwell of nobody or of both", "a carrier or an order")),
                };
                if !(1..=most).contains(&step) {
                    return Err(Bad::new(format!("step {step}"), format!("a step from 1 to {most}")));
                }
                let window = Window {
                    min: length(min)?,
                    target: length(target)?,
                    max: max.map_or(Ok(Dur::UNLIMITED), length)?,
                };
                Change::Dwell { whose, step: StepNo::at(step - 1), window }
            }
            WireChange::Entry { order, station } => Change::Entry {
                order: order.map(|o| self.order(&o)).transpose()?,
                side: station.map_or(Ok(EntrySide::Any), |name| self.tank(&name).map(EntrySide::At))?,
            },
            WireChange::Rework { carrier, recipe } => {
                Change::Rework { carrier: self.carrier(&carrier)?, recipe: self.recipe(&recipe)? }
            }
            WireChange::Lend { carrier, bench, min, max, resume } => {
                let carrier = self.carrier(&carrier)?;
                let most = self.steps(carrier);
                if !(1..=most).contains(&resume) {
                    return Err(Bad::new(format!("step {resume}"), format!("a step from 1 to {most}")));
                }
                let max = max.map_or(Ok(Dur::UNLIMITED), length)?;
                let resume = StepNo::at(resume - 1);
                Change::Lend { carrier, bench: Bench { name: bench, min: length(min)?, max, resume } }
            }
            WireChange::Back { carrier, tank } => Change::Back {
                carrier: self.carrier(&carrier)?,
                tank: tank.map(|t| self.tank(&t)).transpose()?,
            },
        })
    }
}

fn length(ms: i64) -> Result<Dur, Bad> {
    if (0..Dur::UNLIMITED.0).contains(&ms) {
        Ok(Dur(ms))
    } else {
        Err(Bad::new(format!("the length {ms}"), "milliseconds"))
    }
}
