//! The one integration binary; one module per promise.
#![allow(clippy::unwrap_used, reason = "a test that meets nothing where something should be has failed")]

mod crew;
mod files;
mod journal;
mod lines;
mod live;
mod planner;
mod scene;
mod screens;
mod small;
mod view;
