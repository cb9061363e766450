//! Small painters that several screens share.

pub mod big;
pub mod block_font;
pub mod countdown;
pub mod table;
pub mod text;
pub mod window_bar;
