//! The assembly process: reflow, clean, underfill, cure.

use crate::grid::CellGrid;
use crate::read::record::{record, words};
use crate::readings::{AngleReading, WettedFace};
use crate::values::{
    Angle, Fraction, Length, MaterialName, Name, Power, Pressure, SurfaceTension, TablePath, Temperature,
    TemperatureRate, Time, Viscosity, Volume,
};

record! {
    /// The steps between the bumped die and the finished package.
    pub struct Process: "the table [process]" {
        /// Chip-attach reflow.
        reflow: Option<Reflow>,
        /// Cleaning and plasma before underfill.
        clean: Option<Clean>,
        /// Underfill.
        underfill: Option<Underfill>,
        /// Cure of the underfill.
        cure: Option<Cure>,
    }
}

record! {
    /// A reflow profile in the terms of J-STD-020.
    pub struct Reflow: "the table [process.reflow]" {
        /// Lower end of the preheat.
        preheat_from: Option<Temperature>,
        /// Upper end of the preheat.
        preheat_to: Option<Temperature>,
        /// Time between both.
        preheat_time: Option<Time>,
        /// Heating rate from preheat to peak.
        ramp_up: Option<TemperatureRate>,
        /// Peak temperature at the joints.
        peak: Temperature,
        /// Time above liquidus.
        time_above_liquidus: Option<Time>,
        /// Cooling rate from peak.
        ramp_down: Option<TemperatureRate>,
        /// Atmosphere.
        atmosphere: Option<Atmosphere>,
        /// Number of reflows that the joint sees in all. Left out: 3.
        count: Option<u32>,
        /// Flux.
        flux: Option<Flux>,
    }
}

words! {
    /// Atmosphere of a reflow.
    pub enum Atmosphere: "an atmosphere" {
        /// Air.
        Air = "air",
        /// Nitrogen.
        Nitrogen = "nitrogen",
        /// Forming gas, hydrogen in nitrogen.
        FormingGas = "forming gas",
        /// Formic acid vapour in nitrogen.
        FormicAcid = "formic acid",
    }
}

words! {
    /// How flux is used.
    pub enum Flux: "a use of flux" {
        /// None.
        None = "none",
        /// Residue stays.
        NoClean = "no-clean",
        /// Residue is washed off.
        WaterWash = "water-wash",
    }
}

record! {
    /// Cleaning before underfill.
    pub struct Clean: "the table [process.clean]" {
        /// Gas of the plasma. Left out: no plasma.
        plasma: Option<PlasmaGas>,
        /// Radio-frequency power.
        power: Option<Power>,
        /// Chamber pressure.
        pressure: Option<Pressure>,
        /// Time under plasma.
        time: Option<Time>,
        /// Time between clean and underfill.
        queue_time: Option<Time>,
        /// Bake before underfill: temperature.
        bake_temperature: Option<Temperature>,
        /// Bake before underfill: time.
        bake_time: Option<Time>,
        /// Contact-angle readings, a row a drop: a table with columns face (die, substrate, bump), liquid (`underfill` for the
        /// underfill itself) and angle, or volume and diameter of the drop, or its picture with the size of a pixel; optionally
        /// spread (one standard deviation), plasma (time under plasma before the reading), power (of that plasma), age (time after it),
        /// x and y (place from the centre of the die, seen from above), lot.
        readings: Option<TablePath>,
        /// Residue that flux or handling left, patch by patch.
        #[serde(default)]
        residues "residue": Vec<Residue>,
        /// Share of the residue that this plasma leaves. Left out: as the readings before and after plasma show it.
        residue_left: Option<Fraction>,
        => loaded {
            /// The contact-angle readings as read.
            reading_list: Vec<AngleReading>,
        }
    }
}

record! {
    /// Residue on a face, before plasma: a rectangle, a disc, or a grid over the die.
    pub struct Residue: "a table [[process.clean.residue]]" {
        /// Contact angle of the underfill on it.
        angle: Angle,
        /// Share of the face that it covers there. Left out: 100 %.
        cover: Option<Fraction>,
        /// Face that it lies on. Left out: the substrate.
        face: Option<WettedFace>,
        /// Name of the die under which it lies. Left out: under each.
        die: Option<Name>,
        /// Its middle from the centre of the die, x and y, seen from above.
        at: Option<[Length; 2]>,
        /// Its size along x and y, where it is a rectangle.
        size: Option<[Length; 2]>,
        /// Its diameter, where it is a disc.
        diameter: Option<Length>,
        /// Cover as a CSV grid of shares over the outline of the die, seen from above, in place of a rectangle or disc.
        map: Option<TablePath>,
        => loaded {
            /// The map as read.
            cells: Option<CellGrid>,
        }
    }
}

words! {
    /// Gas of a plasma.
    pub enum PlasmaGas: "a plasma gas" {
        /// Argon.
        Argon = "argon",
        /// Oxygen.
        Oxygen = "oxygen",
        /// Argon and oxygen.
        ArgonOxygen = "argon-oxygen",
        /// Argon and hydrogen.
        ArgonHydrogen = "argon-hydrogen",
        /// Nitrogen and hydrogen.
        NitrogenHydrogen = "nitrogen-hydrogen",
    }
}

record! {
    /// Underfill by capillary flow.
    pub struct Underfill: "the table [process.underfill]" {
        /// Material.
        material: MaterialName,
        /// Temperature of the substrate while it flows.
        temperature: Temperature,
        /// Where it is dispensed. Left out: line.
        pattern: Option<DispensePattern>,
        /// Number of passes. Left out: 1.
        passes: Option<u32>,
        /// Volume of all passes together. Left out: the gap, less the bumps, plus fillets.
        volume: Option<Volume>,
        /// Distance of the dispense line from the die's edge.
        offset: Option<Length>,
        /// Time between passes.
        wait: Option<Time>,
        /// Viscosity at that temperature, where the material's own is not to be used.
        viscosity: Option<Viscosity>,
        /// Surface tension at that temperature, where the material's own is not to be used.
        surface_tension: Option<SurfaceTension>,
        /// Share of the surface tension that is dispersive, for angles that readings predict. Left out: 85 %, from memory.
        dispersive_share: Option<Fraction>,
        /// Contact angle on the die's face.
        angle_die: Option<Angle>,
        /// Contact angle on the substrate.
        angle_substrate: Option<Angle>,
        /// Contact angle on the bumps.
        angle_bump: Option<Angle>,
        /// Stand-off between die and substrate, where the joint study is not to decide it.
        gap: Option<Length>,
        /// Distance from the die's edges that must stay clear of underfill: passives, keep-outs.
        keep_clear: Option<Length>,
        /// Name of the die edge where the first line lies; an L goes on along the next edge counter-clockwise, a U has it in its
        /// middle. Left out: the longest.
        edge: Option<DieEdge>,
        /// Names of the dies that it fills. Left out: all flip-mounted ones.
        #[serde(default)]
        dies: Vec<Name>,
        /// Search of dispense recipes, where it is wanted.
        search: Option<RecipeSearch>,
        /// Process windows and probabilities by the tolerances, where they are wanted.
        windows: Option<ProcessWindows>,
        /// Acoustic micrographs of filled parts.
        #[serde(default)]
        micrographs "micrograph": Vec<Micrograph>,
    }
}

record! {
    /// Which dispense recipes are tried, and what one must keep.
    pub struct RecipeSearch: "the table [process.underfill.search]" {
        /// Patterns. Left out: all.
        #[serde(default)]
        patterns: Vec<DispensePattern>,
        /// Numbers of passes. Left out: one, and as many as the offset asks for.
        #[serde(default)]
        passes: Vec<u32>,
        /// Waits between passes. Left out: that of the design, or 20 s.
        #[serde(default)]
        waits: Vec<Time>,
        /// Offsets of the line from the die's edge. Left out: that of the design, or 0.5 mm.
        #[serde(default)]
        offsets: Vec<Length>,
        /// Voids that are allowed over the die's area. Left out: 1 %.
        void_area: Option<Fraction>,
        /// Gel over fill time that is asked for. Left out: 2.
        gel_margin: Option<f64>,
        /// Room beside the die before something that must stay clean. Left out: `keep_clear`, else 2 mm.
        room: Option<Length>,
    }
}

record! {
    /// Process windows about the recipe of the design, and how likely a void is with its tolerances.
    pub struct ProcessWindows: "the table [process.underfill.windows]" {
        /// Lowest and highest angle on the substrate. Left out: 5 to 165 deg.
        angles: Option<[Angle; 2]>,
        /// Lowest and highest flow temperature. Left out: 20 K to both sides.
        temperatures: Option<[Temperature; 2]>,
        /// Smallest and largest gap. Left out: 25 % to both sides.
        gaps: Option<[Length; 2]>,
        /// Longest queue time, where readings show how the face ages. Left out: 24 h.
        queue: Option<Time>,
        /// Standard deviation of the gap over the gap. Left out: what the joints find, or the tolerance of a stated gap; else 5 %.
        gap_spread: Option<Fraction>,
        /// Standard deviation of the viscosity over the viscosity. Left out: 10 %.
        viscosity_spread: Option<Fraction>,
        /// Voids that are allowed over the die's area. Left out: 1 %.
        void_area: Option<Fraction>,
    }
}

record! {
    /// An acoustic micrograph of a filled die, in which voids are counted.
    pub struct Micrograph: "a table [[process.underfill.micrograph]]" {
        /// Path of the picture, PNG or JPEG.
        picture: TablePath,
        /// Name of the die that it shows. Left out: the only one, or the first.
        die: Option<Name>,
        /// False where the part that it shows was filled without the plasma. Left out: true.
        plasma: Option<bool>,
        /// Corners of the die in the picture, pixels from its upper left corner: lower left, lower right, upper right, upper
        /// left. Left out: the die is found.
        corners: Option<[[f64; 2]; 4]>,
        /// Width of the ring along the die's edge that is left out.
        edge: Option<Length>,
        /// How voids look. Left out: brighter.
        voids: Option<VoidShade>,
        /// Diameter below which voids are not counted.
        least: Option<Length>,
        => loaded {
            /// Bytes of the picture.
            bytes: Vec<u8>,
        }
    }
}

words! {
    /// How voids look in a micrograph.
    pub enum VoidShade: "a look of voids" {
        /// Brighter than underfill: sound that comes back through the die.
        Brighter = "brighter",
        /// Darker: sound that passes through the package.
        Darker = "darker",
    }
}

words! {
    /// Where underfill is dispensed along the die.
    pub enum DispensePattern: "a dispense pattern" {
        /// Along one edge.
        Line = "line",
        /// Along two opposite edges.
        TwoLines = "two lines",
        /// Along two edges that meet.
        L = "L",
        /// Along three edges.
        U = "U",
    }
}

words! {
    /// An edge of the die, seen from above on the package.
    pub enum DieEdge: "an edge of the die" {
        /// x small.
        Left = "left",
        /// x large.
        Right = "right",
        /// y small.
        Bottom = "bottom",
        /// y large.
        Top = "top",
    }
}

record! {
    /// Cure of the underfill, step by step.
    pub struct Cure: "the table [process.cure]" {
        /// Steps in order.
        #[serde(default)]
        steps "step": Vec<CureStep>,
        /// Volume shrinkage after gel.
        shrinkage: Option<Fraction>,
        /// Temperature at which underfill, die and substrate are without stress between them. Left out: that of the last
        /// step; without steps 150 degC.
        stress_free: Option<Temperature>,
        /// Share of what the bare joints hold that has crept away when the underfill has cured. Left out: 50 %.
        joints_crept: Option<Fraction>,
    }
}

record! {
    /// One step of a cure.
    pub struct CureStep: "a table [[process.cure.step]]" {
        /// Temperature held.
        temperature: Temperature,
        /// Time held.
        time: Time,
        /// Time of the ramp to it.
        ramp: Option<Time>,
    }
}
