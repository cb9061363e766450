//! The one integration binary; one module per promise.

mod crew;
mod lines;
mod planner;
mod files;
