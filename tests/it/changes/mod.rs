//! What a supervisor may change about a running shift: what is taken, what is refused and why, what follows.

mod random;
mod running;
mod said;

pub use random::with_strip;
