//! Small painters that several screens share.

pub mod big;
pub mod block_font;
pub mod countdown;
pub mod raster;
pub mod table;
pub mod text;
pub mod time_axis;
pub mod window_bar;
