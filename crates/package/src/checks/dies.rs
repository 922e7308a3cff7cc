//! What a die needs by the way it is mounted.

use super::Checker;
use crate::die::Mount;
use facedown_diagnostic::Finding;

pub fn check(c: &mut Checker) {
    let design = c.design;
    if design.dies.is_empty() {
        let finding = Finding::error("no-die", "the design has no die")
            .mend("add a table [[die]] with name, width, height and thickness");
        c.absent("design", finding);
    }
    for (i, die) in design.dies.iter().enumerate() {
        let at = |key: &str| format!("die[{i}].{key}");
        let name = &die.name;
        if die.pads.is_none() {
            let finding = Finding::error("no-pads", format!("the die `{name}` has no pads"))
                .allowed("a CSV table, a GDSII or LEF/DEF source, or `at bumps`")
                .mend("add `pads = \"pads.csv\"` with the columns name, net, x, y, width, height");
            c.absent(&at("name"), finding);
        } else if c.resolved[i].pads.is_empty() && !design.incomplete {
            c.at(
                &at("pads"),
                Finding::error("no-pads", format!("the pads of the die `{name}` are an empty list")),
            );
        }
        match die.mount() {
            Mount::Flip => {
                if die.bumps.is_none() {
                    let finding = Finding::error(
                        "no-bumps",
                        format!("the die `{name}` is mounted face down and has no bumps"),
                    )
                    .mend("add a table [die.bumps] with at least a pitch, or write `mount = \"wire\"`");
                    c.absent(&at("name"), finding);
                }
                if die.wires.is_some() {
                    let finding = Finding::error(
                        "wires-on-flip",
                        format!("the die `{name}` is mounted face down and has bond wires"),
                    )
                    .mend("remove [die.wires], or write `mount = \"wire\"`");
                    c.at(&at("wires"), finding);
                }
            }
            Mount::Wire => {
                if die.bumps.is_some() {
                    let finding = Finding::error(
                        "bumps-on-wire",
                        format!("the die `{name}` is wire-bonded and has bumps"),
                    )
                    .mend("remove [die.bumps], or write `mount = \"flip\"`");
                    c.at(&at("bumps"), finding);
                }
                if die.wires.is_none() {
                    let finding = Finding::warning(
                        "no-wires",
                        format!("the die `{name}` is wire-bonded and says nothing of its wires"),
                    )
                    .mend("add a table [die.wires] with material, diameter and loop_height");
                    c.absent(&at("mount"), finding);
                }
                if die.attach.is_none() {
                    let finding = Finding::warning(
                        "no-attach",
                        format!("the die `{name}` lies face up on nothing that holds it"),
                    )
                    .mend("add a table [die.attach] with material and thickness");
                    c.absent(&at("mount"), finding);
                }
            }
        }
    }
}
