//! The study's published checks. The formulas are those of the named papers; where the paper's own numbers were not at
//! hand, the expected value is worked from the formula by hand and the row says `from memory`.

use crate::flow::follow;
use crate::problem::Step;
use crate::yields::{Model, die_yield, dies_per_wafer, dies_per_wafer_estimate, escapes, passing};
use facedown_evidence::{Basis, Check};

/// All rows.
pub fn checks() -> Vec<Check> {
    let row = |id: &str, source: &str, expected: f64, computed: f64, tolerance: f64| {
        Check::relative(id, "cost", source, Basis::FromMemory, expected, computed, tolerance)
    };
    let y = |m| die_yield(m, 1.0, 1.0);
    let steps = [
        Step { name: "attach".into(), price: 1.0, good: 0.9, inspected: true },
        Step { name: "test".into(), price: 0.5, good: 0.8, inspected: true },
    ];
    let flow = follow(4.0, 1.0, &steps);
    vec![
        row("cost-poisson", "Poisson yield, one defect a die: 1/e", 0.367_879, y(Model::Poisson), 2e-6),
        row(
            "cost-murphy",
            "Murphy 1964, Proc. IEEE 52, 1537: (1 - 1/e)^2",
            0.399_576,
            y(Model::Murphy),
            2e-6,
        ),
        row(
            "cost-seeds",
            "Seeds 1967, IEEE Int. Conv. Rec. 6, 60: exp(-sqrt 0.25)",
            0.606_531,
            die_yield(Model::Seeds, 1.0, 0.25),
            2e-6,
        ),
        row("cost-price", "Price 1970, Proc. IEEE 58, 1290: 1/(1 + AD)", 0.5, y(Model::Clustered(1.0)), 1e-9),
        row(
            "cost-clustered-2",
            "Stapper 1983, IBM J. Res. Dev. 27, 549: (1 + 1/2)^-2",
            0.444_444,
            y(Model::Clustered(2.0)),
            2e-6,
        ),
        row("cost-clustered-half", "Stapper 1983: (1 + 2)^-1/2", 0.577_350, y(Model::Clustered(0.5)), 2e-6),
        row(
            "cost-escapes",
            "Williams and Brown 1981, IEEE Trans. Comput. C-30, 987: yield 50 %, coverage 90 %",
            0.066_967,
            escapes(0.5, 0.9),
            1e-5,
        ),
        row(
            "cost-passing",
            "Williams and Brown 1981: yield 25 %, coverage 50 % passes 50 %",
            0.5,
            passing(0.25, 0.5),
            1e-9,
        ),
        row(
            "cost-dies-estimate",
            "de Vries 2005, IEEE Trans. Semicond. Manuf. 18, 136: 100 mm2 on 300 mm",
            640.215,
            dies_per_wafer_estimate(1e-4, 0.3),
            1e-5,
        ),
        row(
            "cost-dies-counted",
            "square numbers: 2 x 2 squares of side 1 in a circle of diameter 2 sqrt 2",
            4.0,
            dies_per_wafer([0.999e-2; 2], 0.0, 2.828_43e-2, 0.0) as f64,
            1e-9,
        ),
        row(
            "cost-scrap",
            "worked by hand: 4 + 1 a package, 10 % out; 0.5 more, 20 % of the rest out",
            1.49,
            flow.scrap,
            1e-9,
        ),
        row("cost-flow-yield", "worked by hand: 0.9 x 0.8", 0.72, flow.good, 1e-9),
    ]
}

#[cfg(test)]
mod tests {
    use super::checks;

    #[test]
    fn every_row_passes_under_its_own_name() {
        let rows = checks();
        for row in &rows {
            assert!(row.pass(), "{}: {} against {}", row.id, row.computed, row.expected);
        }
        let ids: std::collections::BTreeSet<_> = rows.iter().map(|r| &r.id).collect();
        assert_eq!(ids.len(), rows.len());
    }
}
