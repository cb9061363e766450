#![doc = include_str!("map.md")]

pub mod civil;
pub mod clock;
pub mod finding;
pub mod ids;
pub mod line;
pub mod live;
pub mod plan;
pub mod rng;
pub mod schedule;
pub mod shift;
pub mod tui;
pub mod units;
pub mod verify;
pub mod view;
