//! The one integration binary; one module per promise.
#![allow(clippy::unwrap_used, reason = "a test that meets nothing where something should be has failed")]

mod alarms;
mod best;
mod changes;
mod cli;
mod crew;
mod dense;
mod desk;
mod engine;
mod exact;
mod families;
mod files;
mod helpers;
mod hoists;
mod journal;
mod lines;
mod live;
mod planner;
mod policies;
mod pty;
mod quality;
mod rhythm;
mod scene;
mod screens;
mod shift;
mod small;
mod tidy;
mod timing;
mod verifier;
mod view;
mod ways;
mod whatif;
