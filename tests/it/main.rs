//! The one integration binary; one module per promise.
#![allow(clippy::unwrap_used, reason = "a test that meets nothing where something should be has failed")]

mod alarms;
mod best;
mod cli;
mod crew;
mod dense;
mod engine;
mod exact;
mod families;
mod files;
mod helpers;
mod hoists;
mod journal;
mod lines;
mod live;
mod mend;
mod planner;
mod policies;
mod power;
mod pty;
mod quality;
mod rhythm;
mod scene;
mod screens;
mod shade;
mod shift;
mod small;
mod tidy;
mod timing;
mod verifier;
mod view;
