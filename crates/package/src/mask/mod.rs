//! Pads from drawings: what a layout's shapes and labels, or a placed design's pins, mean for a die.

pub(crate) mod gdsii;
pub(crate) mod lefdef;
