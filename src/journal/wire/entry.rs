//! The stored form of ledger entries: one flat object, told apart by `what`.

use serde::{Deserialize, Serialize};

use super::{Bad, Names};
use crate::shift::ledger::{Count, Entry, Inspection, Quantity, Reading, Shade, Sign};

#[derive(Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub(super) enum WireEntry {
    Signed {
        sign: WireSign,
        initials: String,
    },
    Received {
        order: String,
        parts: u32,
    },
    Racked {
        carrier: String,
        parts: u32,
    },
    Unracked {
        carrier: String,
        good: u32,
        rework: u32,
        scrap: u32,
    },
    Found {
        order: String,
        tank: String,
        parts: u32,
    },
    Returned {
        order: String,
        parts: u32,
    },
    Inspected {
        carrier: String,
        shade: WireShade,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        thickness_um: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sealed: Option<bool>,
        #[serde(default, skip_serializing_if = "String::is_empty")]
        marks: String,
    },
    Bath {
        tank: String,
        quantity: WireQuantity,
        value: f64,
    },
    BathChanged {
        tank: String,
    },
}

/// A closed set of words, stored in kebab case.
macro_rules! words {
    ($wire:ident, $real:ident, $($word:ident),+) => {
        #[derive(Serialize, Deserialize, Clone, Copy)]
        #[serde(rename_all = "kebab-case")]
        pub(super) enum $wire {
            $($word),+
        }
        impl From<$real> for $wire {
            fn from(real: $real) -> Self {
                match real {
                    $($real::$word => Self::$word),+
                }
            }
        }
        impl From<$wire> for $real {
            fn from(wire: $wire) -> Self {
                match wire {
                    $($wire::$word => Self::$word),+
                }
            }
        }
    };
}

words!(WireSign, Sign, On, HandsOver, TakesOver);
words!(WireShade, Shade, Like, Lighter, Darker, Uneven);
words!(WireQuantity, Quantity, Temperature, Concentration, Conductivity, Ph);

impl Names<'_> {
    pub(super) fn write_entry(self, entry: &Entry) -> WireEntry {
        match entry {
            Entry::Signed { sign, initials } => {
                WireEntry::Signed { sign: (*sign).into(), initials: initials.clone() }
            }
            Entry::Received { order, parts } => {
                WireEntry::Received { order: self.order_name(*order), parts: *parts }
            }
            Entry::Racked { carrier, parts } => {
                WireEntry::Racked { carrier: self.carrier_name(*carrier), parts: *parts }
            }
            Entry::Unracked { carrier, count: Count { good, rework, scrap } } => WireEntry::Unracked {
                carrier: self.carrier_name(*carrier),
                good: *good,
                rework: *rework,
                scrap: *scrap,
            },
            Entry::Found { order, tank, parts } => WireEntry::Found {
                order: self.order_name(*order),
                tank: self.tank_name(*tank),
                parts: *parts,
            },
            Entry::Returned { order, parts } => {
                WireEntry::Returned { order: self.order_name(*order), parts: *parts }
            }
            Entry::Inspected { carrier, seen } => WireEntry::Inspected {
                carrier: self.carrier_name(*carrier),
                shade: seen.shade.into(),
                thickness_um: seen.thickness_um,
                sealed: seen.sealed,
                marks: seen.marks.clone(),
            },
            Entry::Bath { tank, reading } => WireEntry::Bath {
                tank: self.tank_name(*tank),
                quantity: reading.quantity.into(),
                value: reading.value,
            },
            Entry::BathChanged { tank } => WireEntry::BathChanged { tank: self.tank_name(*tank) },
        }
    }

    pub(super) fn read_entry(self, wire: WireEntry) -> Result<Entry, Bad> {
        Ok(match wire {
            WireEntry::Signed { sign, initials } => Entry::Signed { sign: sign.into(), initials },
            WireEntry::Received { order, parts } => Entry::Received { order: self.order(&order)?, parts },
            WireEntry::Racked { carrier, parts } => Entry::Racked { carrier: self.carrier(&carrier)?, parts },
            WireEntry::Unracked { carrier, good, rework, scrap } => {
                Entry::Unracked { carrier: self.carrier(&carrier)?, count: Count { good, rework, scrap } }
            }
            WireEntry::Found { order, tank, parts } => {
                Entry::Found { order: self.order(&order)?, tank: self.tank(&tank)?, parts }
            }
            WireEntry::Returned { order, parts } => Entry::Returned { order: self.order(&order)?, parts },
            WireEntry::Inspected { carrier, shade, thickness_um, sealed, marks } => Entry::Inspected {
                carrier: self.carrier(&carrier)?,
                seen: Inspection { shade: shade.into(), thickness_um, sealed, marks },
            },
            WireEntry::Bath { tank, quantity, value } => {
                Entry::Bath { tank: self.tank(&tank)?, reading: Reading { quantity: quantity.into(), value } }
            }
            WireEntry::BathChanged { tank } => Entry::BathChanged { tank: self.tank(&tank)? },
        })
    }
}
