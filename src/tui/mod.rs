//! The screens in a terminal. Paints a [`crate::view::Board`], turns keys into commands for a
//! [`crate::live::LiveShift`]; decides nothing about the line.
//!
//! One key press goes: terminal, `keymap` (key to action), `app` (action to effects, pure), `run` (performs the effects
//! on the shift, builds the next board), `screens` (paint it).

pub mod action;
pub mod app;
pub mod changes;
mod course;
mod debounce;
pub mod desk;
pub mod dialog;
pub mod glyphs;
pub mod keymap;
pub mod lessons;
mod pages;
mod quiz;
pub mod reading;
mod run;
pub mod screens;
mod terminal;
pub mod theme;
pub mod widgets;

pub use app::Post;
pub use course::Course;
pub use glyphs::GlyphSet;
pub use quiz::{Answers, Asked, Turn, ask};
pub use run::{Exit, Options, Outcome, TuiError, board_of, perform, run};
pub use theme::Depth;
