//! The one integration binary; one module per promise.

mod scene;
mod screens;
mod view;
