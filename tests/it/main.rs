//! The one integration binary; one module per promise.
mod screens;
