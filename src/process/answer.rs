//! An answer as plain data: figures, each with the rule it rests on, remarks, and whether the answer is no.

use super::basis::Basis;
use super::quantity::{Minutes, with_unit};

/// One figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// A short fixed name for machines: `time_min`, its unit at the end.
    pub key: &'static str,
    /// What it is, for people.
    pub what: String,
    /// In `unit`.
    pub value: f64,
    /// The unit's name; `1` for a bare ratio.
    pub unit: &'static str,
    /// The same value said another way, such as on the clock or in another unit.
    pub also: String,
    /// What it rests on.
    pub basis: &'static Basis,
}

/// What a question came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answer {
    /// Figures in the order they are to be read.
    pub figures: Vec<Figure>,
    /// What a person should know beside the figures.
    pub remarks: Vec<String>,
    /// Why the answer is no, one sentence each; empty if it is not.
    pub no: Vec<String>,
}

impl Answer {
    /// Adds a figure.
    pub fn figure(
        &mut self,
        key: &'static str,
        what: impl Into<String>,
        value: f64,
        unit: &'static str,
        basis: &'static Basis,
    ) {
        self.figures.push(Figure { key, what: what.into(), value, unit, also: String::new(), basis });
    }

    /// Adds a figure that is also said another way.
    pub fn figure_also(
        &mut self,
        key: &'static str,
        what: impl Into<String>,
        (value, unit): (f64, &'static str),
        also: String,
        basis: &'static Basis,
    ) {
        self.figures.push(Figure { key, what: what.into(), value, unit, also, basis });
    }

    /// Adds a length of time, with the clock form.
    pub fn time(&mut self, key: &'static str, what: impl Into<String>, time: Minutes, basis: &'static Basis) {
        self.figure_also(key, what, (time.0, "min"), time.clock(), basis);
    }

    /// Adds a remark.
    pub fn remark(&mut self, text: impl Into<String>) {
        self.remarks.push(text.into());
    }

    /// Says why the answer is no.
    pub fn refuse(&mut self, why: impl Into<String>) {
        self.no.push(why.into());
    }

    /// The value of a figure.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.figures.iter().find(|f| f.key == key).map(|f| f.value)
    }

    /// The rules used, each once, in the order of first use.
    pub fn bases(&self) -> Vec<&'static Basis> {
        let mut bases: Vec<&'static Basis> = Vec::new();
        for figure in &self.figures {
            if !bases.contains(&figure.basis) {
                bases.push(figure.basis);
            }
        }
        bases
    }
}

impl Figure {
    /// Value and unit.
    pub fn words(&self) -> String {
        with_unit(self.value, self.unit)
    }
}
