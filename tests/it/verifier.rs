//! The verifier accepts what is true, and nothing else.

mod faults;
mod model;
mod published;
