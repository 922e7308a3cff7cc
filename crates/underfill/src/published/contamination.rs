//! Residue, dose and ageing against what is published.

use super::{Source, Table};
use crate::contamination::{Ageing, dose, residue};
use crate::problem::Angle;
use crate::treatment::FirstOrder;
use facedown_evidence::Basis;

const CASSIE: Source = Source(
    "Cassie, Discuss. Faraday Soc. 3 (1948) 11, recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const MISRA: Source = Source(
    "NIST Statistical Reference Datasets, Misra1a: certified standard deviations of y = b1 (1 - exp(-b2 x))",
    Basis::Published,
);
const BOX: Source = Source(
    "NIST Statistical Reference Datasets, BoxBOD: certified standard deviations of y = b1 (1 - exp(-b2 x))",
    Basis::Published,
);
const IVANOV: Source = Source(
    "Ivanov and others, Bulg. J. Phys. 19 (1992) 89: polyimide, lives of 17 h and 3140 h, recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);

const MISRA_DATA: [(f64, f64); 14] = [
    (77.6, 10.07),
    (114.9, 14.73),
    (141.1, 17.94),
    (190.8, 23.93),
    (239.9, 29.61),
    (289.0, 35.18),
    (332.8, 40.02),
    (378.4, 44.82),
    (434.8, 50.76),
    (477.3, 55.05),
    (536.8, 61.01),
    (593.1, 66.40),
    (689.1, 75.47),
    (760.0, 81.78),
];
const BOX_DATA: [(f64, f64); 6] =
    [(1.0, 109.0), (2.0, 149.0), (3.0, 149.0), (5.0, 191.0), (7.0, 213.0), (10.0, 224.0)];

pub fn rows(table: &mut Table) {
    let angle = |degrees: f64| Angle { angle_rad: degrees.to_radians(), spread_rad: 0.0 };
    let mixed = residue::angle_of((0.3, 0.0), angle(20.0), angle(75.0));
    table.within("underfill-residue-mosaic", CASSIE, 42.66, mixed.angle_rad.to_degrees(), 0.005);
    // The covariance at the certified constants, with the residuals' own deviation on every reading.
    for (name, source, data, b1, b2, certified) in [
        (
            "misra",
            MISRA,
            &MISRA_DATA[..],
            238.942_129_18,
            5.501_564_318_1e-4,
            [2.707_007_524_1, 7.266_868_843_6e-6],
        ),
        ("box", BOX, &BOX_DATA[..], 213.809_408_89, 0.547_237_485_42, [12.354_515_176, 0.104_559_932_37]),
    ] {
        let law = FirstOrder { start_rad: 0.0, end_rad: b1, rate: b2 };
        let square: f64 = data.iter().map(|(x, y)| (y - law.after(*x)).powi(2)).sum();
        let deviation = (square / (data.len() - 2) as f64).sqrt();
        let readings: Vec<(f64, f64)> = data.iter().map(|(x, _)| (*x, deviation)).collect();
        let found = dose::covariance(law, &readings, [false, true, true], 0.0).unwrap_or([[f64::NAN; 3]; 3]);
        // The constants are certified to eleven digits.
        table.relative(&format!("underfill-dose-{name}-end"), source, certified[0], found[1][1].sqrt(), 1e-8);
        table.relative(
            &format!("underfill-dose-{name}-rate"),
            source,
            certified[1],
            found[2][2].sqrt(),
            1e-8,
        );
    }
    // Of the cosine gained, after a day and after three weeks.
    let ageing = Ageing::polyimide(angle(73.0));
    table.within("underfill-ageing-day", IVANOV, 0.842_826_568_7, ageing.left(86_400.0).0, 1e-9);
    table.within("underfill-ageing-weeks", IVANOV, 0.689_884_845_8, ageing.left(21.0 * 86_400.0).0, 1e-9);
}
