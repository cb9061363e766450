//! Count, mean, median and p90 of times.

use crate::units::Dur;

/// Times in short.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spread {
    /// How many.
    pub count: usize,
    /// Their mean.
    pub mean: Dur,
    /// Half of them are no longer.
    pub median: Dur,
    /// Nine in ten of them are no longer.
    pub p90: Dur,
}

impl Spread {
    /// `None` of nothing.
    pub fn of(mut times: Vec<Dur>) -> Option<Self> {
        times.sort_unstable();
        let count = times.len();
        let sum: Dur = times.iter().copied().sum();
        let mean = Dur(sum.0.checked_div(count as i64)?);
        Some(Self { count, mean, median: ranked(&times, 50)?, p90: ranked(&times, 90)? })
    }
}

/// The time that so many per cent of sorted times are no longer than: one of them, by nearest rank.
pub(super) fn ranked<T: Copy>(sorted: &[T], percent: usize) -> Option<T> {
    let rank = (sorted.len() * percent).div_ceil(100).max(1);
    sorted.get(rank - 1).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_are_the_nearest() {
        let secs = |n: i64| (1..=n).rev().map(Dur::from_secs).collect::<Vec<_>>();
        assert_eq!(Spread::of(Vec::new()), None);
        let one = Spread::of(secs(1)).unwrap();
        assert_eq!((one.mean, one.median, one.p90), (Dur(1000), Dur(1000), Dur(1000)));
        let ten = Spread::of(secs(10)).unwrap();
        assert_eq!((ten.count, ten.mean, ten.median, ten.p90), (10, Dur(5500), Dur(5000), Dur(9000)));
        assert_eq!(Spread::of(secs(22)).unwrap().p90, Dur::from_secs(20), "two are longer");
    }
}
