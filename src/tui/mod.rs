//! The screens in a terminal. Paints a [`crate::view::Board`], turns keys into commands for a
//! [`crate::live::LiveShift`]; decides nothing about the line.
//!
//! One key press goes: terminal, `keymap` (key to action), `app` (action to effects, pure), `run` (performs the effects
//! on the shift, builds the next board), `screens` (paint it).

pub mod action;
pub mod app;
pub mod changes;
pub mod choosing;
mod course;
mod debounce;
pub mod desk;
pub mod dialog;
pub mod entries;
mod fading;
pub mod glyphs;
pub mod herald;
pub mod keymap;
mod learning;
pub mod lessons;
pub mod mouse;
pub mod pages;
pub mod plain;
mod player;
pub mod practising;
mod quiz;
pub mod reading;
mod retold;
mod run;
pub mod screens;
pub mod tape;
mod terminal;
pub mod theme;
pub mod widgets;

pub use app::Post;
pub use course::Course;
pub use glyphs::GlyphSet;
pub use learning::Tally;
pub use mouse::Mouse;
pub use player::Player;
pub use quiz::{Answers, Asked as AskedQuestion, Turn, ask};
pub use run::{Begin, Cautions, Ears, Exit, Options, Outcome, TuiError, board_of, perform, replay, run};
pub use theme::{Asked, Depth, Ground};
