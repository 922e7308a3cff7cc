//! Micrographs: pictures of a die that is there, with sizes that can be.

use super::Checker;
use facedown_diagnostic::{Finding, nearest};

pub fn check(c: &mut Checker) {
    let design = c.design;
    let Some(fill) = design.process.as_ref().and_then(|p| p.underfill.as_ref()) else { return };
    for (k, scan) in fill.micrographs.iter().enumerate() {
        let at = format!("process.underfill.micrograph[{k}]");
        let known = matches!(scan.bytes[..], [0x89, b'P', b'N', b'G', ..] | [0xff, 0xd8, 0xff, ..] | []);
        if !known {
            let what = format!("{} begins neither as PNG nor as JPEG", scan.picture);
            let finding = Finding::error("not-a-picture", what).allowed("a PNG or a JPEG file");
            c.at(&format!("{at}.picture"), finding.mend("save it as PNG"));
        }
        if let Some(name) = &scan.die
            && design.die(name.as_str()).is_none()
        {
            let finding = Finding::error("die-unknown", format!("there is no die `{name}`"));
            let finding = match nearest(name.as_str(), design.dies.iter().map(|d| d.name.as_str())) {
                Some(right) => finding.mend(format!("write `{right}`")),
                None => finding,
            };
            c.at(&format!("{at}.die"), finding);
        }
        for (key, length) in [("edge", &scan.edge), ("least", &scan.least)] {
            if let Some(length) = length.as_ref().filter(|l| l.si() < 0.0) {
                let finding =
                    Finding::error("negative", format!("{length} is below zero")).allowed("zero or more");
                c.at(&format!("{at}.{key}"), finding);
            }
        }
    }
}
