//! The one integration binary; one module per promise.
#![allow(clippy::unwrap_used, reason = "in a test a panic is the verdict, helpers included")]

mod alarms;
mod helpers;
mod shift;
mod tidy;
mod timing;
mod verifier;
