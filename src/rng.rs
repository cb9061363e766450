//! Randomness with a fixed algorithm, so that a stored seed gives the same run for years. Seeds come from the caller.

use rand_core::{Rng as _, SeedableRng as _};
use rand_pcg::Pcg64Mcg;

/// A stream of random numbers. Different purposes take different streams of one seed.
#[derive(Debug, Clone)]
pub struct Rng(Pcg64Mcg);

impl Rng {
    /// The stream of a purpose, such as `"crew"`, under a seed.
    pub fn stream(seed: u64, purpose: &str) -> Self {
        // FNV-1a keeps the streams of different purposes apart.
        let tag = purpose
            .bytes()
            .fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
        Self(Pcg64Mcg::seed_from_u64(seed ^ tag))
    }

    /// A number in `0..n`; 0 if `n` is 0.
    pub fn below(&mut self, n: usize) -> usize {
        // Multiply-shift: the bias is below n / 2^64.
        ((u128::from(self.0.next_u64()) * n as u128) >> 64) as usize
    }

    /// A number in `0.0..1.0`.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A standard normal number (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let u = 1.0 - self.unit();
        let v = self.unit();
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// True with the given probability.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// Puts a slice in random order (Fisher and Yates).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            items.swap(i, self.below(i + 1));
        }
    }
}
