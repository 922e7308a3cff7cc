//! To come.
use super::Checker;
pub fn check(_c: &mut Checker) {}
