//! The table of published checks: the rows of every room, in one list.

use facedown_evidence::Check;

/// All rows, room by room, each room in its own order.
pub fn published_checks() -> Vec<Check> {
    let mut rows = facedown_maskdata::published_checks();
    rows.extend(facedown_package::published_checks());
    rows.extend(facedown_redistribution::published::published_checks());
    rows.extend(facedown_rulecheck::published_checks());
    rows.extend(facedown_joints::published::checks());
    rows.extend(facedown_underfill::published::checks());
    rows.extend(facedown_electrical::published::checks());
    rows.extend(facedown_heat::published::checks());
    rows.extend(facedown_life::published::checks());
    rows.extend(facedown_warpage::published::checks());
    rows.extend(facedown_cost::published::checks());
    rows
}
