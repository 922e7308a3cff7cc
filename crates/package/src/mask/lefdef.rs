use crate::pads::{Pad, PadDef};
use crate::read::node::Reader;
pub fn pads(_reader: &mut Reader, _path: &str, _source: &PadDef) -> Vec<Pad> {
    Vec::new()
}
