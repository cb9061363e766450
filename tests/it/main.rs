//! The one integration binary; one module per promise.

mod journal;
mod small;
