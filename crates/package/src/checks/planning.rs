//! What the underfill is asked to plan: recipes with numbers that can be, windows whose axes rise.

use super::Checker;
use facedown_diagnostic::Finding;

pub fn check(c: &mut Checker) {
    let design = c.design;
    let Some(fill) = design.process.as_ref().and_then(|p| p.underfill.as_ref()) else { return };
    if let Some(search) = &fill.search {
        let at = "process.underfill.search";
        if search.passes.iter().any(|p| !(1..=20).contains(p)) {
            let finding = Finding::error("passes-range", "a number of passes is none").allowed("1 to 20");
            c.at(&format!("{at}.passes"), finding);
        }
        if let Some(wait) = search.waits.iter().find(|w| !(0.0..=1e5).contains(&w.si())) {
            let finding = Finding::error("wait-range", format!("{wait} is no wait between passes"));
            c.at(&format!("{at}.waits"), finding.allowed("0 s to 100000 s"));
        }
        if let Some(offset) = search.offsets.iter().find(|o| o.si() <= 0.0) {
            let finding =
                Finding::error("not-positive", format!("{offset} is no distance from the die's edge"));
            c.at(&format!("{at}.offsets"), finding.allowed("a length above zero"));
        }
        if let Some(room) = search.room.filter(|r| r.si() <= 0.0) {
            let finding = Finding::error("not-positive", format!("{room} is no room"));
            c.at(&format!("{at}.room"), finding.allowed("a length above zero"));
        }
        if let Some(margin) = search.gel_margin.filter(|m| !(1.0..=1e6).contains(m)) {
            let finding =
                Finding::error("margin-range", format!("a gel margin of {margin} asks for nothing"));
            c.at(&format!("{at}.gel_margin"), finding.allowed("1 or more: gel over fill time"));
        }
        share(c, &format!("{at}.void_area"), search.void_area.map(|v| (v.si(), v.to_string())));
    }
    if let Some(windows) = &fill.windows {
        let at = "process.underfill.windows";
        share(c, &format!("{at}.void_area"), windows.void_area.map(|v| (v.si(), v.to_string())));
        share(c, &format!("{at}.gap_spread"), windows.gap_spread.map(|v| (v.si(), v.to_string())));
        share(
            c,
            &format!("{at}.viscosity_spread"),
            windows.viscosity_spread.map(|v| (v.si(), v.to_string())),
        );
        let axes = [
            (
                "angles",
                windows.angles.map(|a| a.map(|v| v.si())),
                [0.0, std::f64::consts::PI],
                "0 deg to 180 deg",
            ),
            (
                "temperatures",
                windows.temperatures.map(|t| t.map(|v| v.si())),
                [200.0, 700.0],
                "-73 degC to 427 degC",
            ),
            ("gaps", windows.gaps.map(|g| g.map(|v| v.si())), [1e-6, 5e-3], "1 um to 5 mm"),
        ];
        for (key, ends, [least, most], words) in axes {
            let Some([low, high]) = ends else { continue };
            if high <= low {
                let finding = Finding::error("axis-order", "the axis of the window does not rise")
                    .allowed("the lower end first, then the higher one");
                c.at(&format!("{at}.{key}"), finding);
            } else if low < least || high > most {
                let finding = Finding::error("axis-range", "the axis of the window leaves what can be");
                c.at(&format!("{at}.{key}"), finding.allowed(words));
            }
        }
        if let Some(queue) = windows.queue.filter(|q| q.si() <= 0.0) {
            let finding = Finding::error("not-positive", format!("{queue} is no queue time"));
            c.at(&format!("{at}.queue"), finding.allowed("a time above zero"));
        }
    }
}

fn share(c: &mut Checker, path: &str, share: Option<(f64, String)>) {
    if let Some((value, written)) = share
        && !(0.0..1.0).contains(&value)
    {
        let finding = Finding::error("share-range", format!("{written} is not below the whole"));
        c.at(path, finding.allowed("0 % to less than 100 %"));
    }
}
