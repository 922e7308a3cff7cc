//! Surface energy, angles, drops, plasma and ageing.

use super::{Source, Table};
use crate::surface::owens_wendt::{Read, fit};
use crate::surface::{Parts, acid_base, drop, probe_liquid, rough, work_of_adhesion};
use crate::treatment::{FLUENCE, FirstOrder};
use facedown_evidence::Basis;

const PET: Source =
    Source("Materials 13 (2020) 508, table 1: PET film after plasma, water and glycerol", Basis::Published);
const GLASS: Source =
    Source("Int. J. Microbiology (2011) 972494, table 1: glass, acid-base parts", Basis::Published);
const CELLS: Source = Source(
    "open-access article PMC6976613, table 2: Cassie-Baxter angles on thin-walled square cells",
    Basis::Published,
);
const CAP: Source =
    Source("spherical cap, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const WENZEL: Source =
    Source("Wenzel 1936, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const DOSE: Source = Source(
    "law of Polymers 16 (2024) 1381 (1/e at 5e22 per m2), recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const AGEING: Source =
    Source("first-order ageing, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);

pub fn rows(table: &mut Table) {
    let water = Parts { dispersive: 0.0218, polar: 0.051 };
    let glycerol = Parts { dispersive: 0.037, polar: 0.0264 };
    // Angles of water and glycerol; total, polar, dispersive. The source prints the last two of the fourth row exchanged.
    for (name, angles, total, polar, dispersive) in [
        ("untreated", [80.0, 73.0], 26.5, 12.4, 14.1),
        ("alternating", [17.0, 15.0], 70.0, 53.5, 16.5),
        ("anode", [12.0, 10.0], 71.6, 55.0, 16.6),
        ("aged", [49.0, 45.0], 49.9, 34.4, 15.6),
    ] {
        let read = |liquid, degrees: f64| Read { liquid, angle_rad: degrees.to_radians(), spread_rad: 0.0 };
        let Ok(fit) = fit(&[read(water, angles[0]), read(glycerol, angles[1])]) else { continue };
        // The angles are printed to whole degrees.
        table.within(&format!("underfill-energy-{name}"), PET, total, fit.parts.total() * 1e3, 0.15);
        table.within(&format!("underfill-polar-{name}"), PET, polar, fit.parts.polar * 1e3, 0.15);
        table.within(
            &format!("underfill-dispersive-{name}"),
            PET,
            dispersive,
            fit.parts.dispersive * 1e3,
            0.15,
        );
    }
    table.within(
        "underfill-adhesion-water",
        PET,
        85.4,
        work_of_adhesion(0.0728, 80.0_f64.to_radians()) * 1e3,
        0.06,
    );
    let liquids = ["water", "formamide", "1-bromonaphthalene"].map(probe_liquid);
    if let [Some(w), Some(f), Some(b)] = &liquids {
        let degrees = [13.6, 12.9, 17.0].map(f64::to_radians);
        if let Ok(parts) = acid_base::solve(&[(w, degrees[0]), (f, degrees[1]), (b, degrees[2])]) {
            table.within("underfill-glass-apolar", GLASS, 42.5, parts.apolar * 1e3, 0.1);
            table.within("underfill-glass-acceptor", GLASS, 0.8, parts.acceptor * 1e3, 0.05);
            table.within("underfill-glass-donor", GLASS, 53.4, parts.donor * 1e3, 0.1);
            table.within("underfill-glass-polar", GLASS, 12.8, parts.polar() * 1e3, 0.1);
            table.within("underfill-glass-total", GLASS, 55.3, parts.total() * 1e3, 0.1);
        }
    }
    // Wall of cells with pitch a and opening b, um; one angle of Young for all rows, 83.5 deg, as the printed column asks for.
    for (a, b, expected) in
        [(50.0, 32.7, 111.3), (80.0, 62.7, 124.8), (120.0, 108.5, 142.8), (100.0, 94.2, 151.1)]
    {
        let wetted = 1.0 - (b / a) * (b / a);
        let found = rough::on_tops(83.5_f64.to_radians(), wetted).to_degrees();
        table.within(&format!("underfill-cells-{a:.0}-{b:.0}"), CELLS, expected, found, 0.2);
    }
    table.within(
        "underfill-wenzel",
        WENZEL,
        41.409622,
        rough::wenzel(60.0_f64.to_radians(), 1.5).to_degrees(),
        1e-5,
    );
    for (name, volume, diameter, expected) in
        [("2", 2e-9, 3e-3, 39.751), ("1", 1e-9, 2e-3, 59.684), ("5", 5e-9, 3e-3, 76.127)]
    {
        let found = drop::angle_of_volume(volume, diameter).unwrap_or(f64::NAN).to_degrees();
        table.within(&format!("underfill-cap-{name}ul"), CAP, expected, found, 5e-4);
    }
    let law = FirstOrder { start_rad: 80.0_f64.to_radians(), end_rad: 0.0, rate: 1.0 / FLUENCE };
    table.within("underfill-dose-25s", DOSE, 48.52, law.after(25.0 * 1e21).to_degrees(), 0.005);
    table.within("underfill-dose-150s", DOSE, 3.98, law.after(150.0 * 1e21).to_degrees(), 0.005);
    let ageing =
        FirstOrder { start_rad: 15.0_f64.to_radians(), end_rad: 60.0_f64.to_radians(), rate: 1.0 / 30.0 };
    let hours = ageing.dose_for(30.0_f64.to_radians()).unwrap_or(f64::NAN);
    table.within("underfill-ageing-hours", AGEING, 12.164, hours, 5e-4);
}
