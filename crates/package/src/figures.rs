//! The figures that studies report, by study: what a requirement may ask for.
//!
//! Studies stand on floors above this one, so their figures are named here once, with the kind of quantity that
//! a limit must have. Which of them a design gets depends on what it says: a figure that no run reports is `not judged`.

use facedown_quantity::{Kind, KindTable, kind};

/// A figure that a requirement can name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownFigure {
    /// Study.
    pub study: &'static str,
    /// Figure.
    pub name: &'static str,
    /// Kind of its limit; absent for counts and ratios, which are bare numbers.
    pub kind: Option<&'static KindTable>,
    /// What it says.
    pub meaning: &'static str,
}

impl KnownFigure {
    /// True for a figure whose sign is a direction, so that a largest value is one of its magnitude.
    pub fn signed(&self) -> bool {
        self.study == "warpage" && matches!(self.name, "warpage_room" | "warpage_peak")
    }
}

const LENGTH: Option<&KindTable> = Some(kind::Length::TABLE);
const SHARE: Option<&KindTable> = Some(kind::Fraction::TABLE);
const RESISTANCE: Option<&KindTable> = Some(kind::ThermalResistance::TABLE);
const TEMPERATURE: Option<&KindTable> = Some(kind::Temperature::TABLE);
const STRESS: Option<&KindTable> = Some(kind::Stress::TABLE);
const TIME: Option<&KindTable> = Some(kind::Time::TABLE);
const RATE: Option<&KindTable> = Some(kind::Rate::TABLE);
const VOLUME: Option<&KindTable> = Some(kind::Volume::TABLE);
const AREA: Option<&KindTable> = Some(kind::Area::TABLE);
const DIFFERENCE: Option<&KindTable> = Some(kind::TemperatureDifference::TABLE);
const ANGLE: Option<&KindTable> = Some(kind::Angle::TABLE);
const FORCE: Option<&KindTable> = Some(kind::Force::TABLE);
const STIFFNESS: Option<&KindTable> = Some(kind::Stiffness::TABLE);
const FREQUENCY: Option<&KindTable> = Some(kind::Frequency::TABLE);
const ENERGY_PER_AREA: Option<&KindTable> = Some(kind::FractureEnergy::TABLE);
const OHMS: Option<&KindTable> = Some(kind::Resistance::TABLE);
const INDUCTANCE: Option<&KindTable> = Some(kind::Inductance::TABLE);
const CAPACITANCE: Option<&KindTable> = Some(kind::Capacitance::TABLE);
const CURRENT: Option<&KindTable> = Some(kind::Current::TABLE);
const CURRENT_DENSITY: Option<&KindTable> = Some(kind::CurrentDensity::TABLE);
const VOLTAGE: Option<&KindTable> = Some(kind::Voltage::TABLE);
const POWER: Option<&KindTable> = Some(kind::Power::TABLE);
const CYCLES: Option<&KindTable> = Some(kind::Cycles::TABLE);
const NUMBER: Option<&KindTable> = None;

macro_rules! figures {
    ($( $study:literal { $( $name:literal $kind:ident $meaning:literal; )* } )*) => {
        /// All figures, study by study.
        pub const FIGURES: &[KnownFigure] = &[ $( $( KnownFigure { study: $study, name: $name, kind: $kind, meaning: $meaning }, )* )* ];

        /// All studies, in the order of the work.
        pub const STUDIES: &[&str] = &[ $( $study, )* ];
    };
}

figures! {
    "redistribution" {
        "nets" NUMBER "nets to be routed";
        "routed_nets" NUMBER "nets with every terminal connected";
        "violations" NUMBER "findings of the rule checker";
        "wirelength" LENGTH "total trace length";
        "geodesic_bound" LENGTH "total of the shortest paths around foreign capture pads";
        "wirelength_ratio" NUMBER "length over its geodesic bound, two-terminal nets";
        "assignment_bound" LENGTH "total length of the cheapest assignment";
        "longest_net" LENGTH "length of the longest net";
        "worst_detour" NUMBER "largest length over bound of one net";
        "min_spacing" LENGTH "least space between metal of different nets";
        "layers_used" NUMBER "redistribution layers with metal";
        "worst_cut_use" NUMBER "largest share of a cut's capacity in use";
        "bumps" NUMBER "bumps with a net";
        "trace_resistance_max" NUMBER "squares of the longest trace over its width";
    }
    "joints" {
        "joint_height" LENGTH "least height of a joint";
        "joint_width" LENGTH "largest diameter of a joint";
        "joint_neck" LENGTH "least diameter of a joint";
        "joint_angle" ANGLE "largest angle inside the solder at a pad";
        "joint_force" FORCE "load of one joint while liquid";
        "stand_off" LENGTH "mean gap between both parts";
        "vertical_stiffness" STIFFNESS "stiffness of one liquid joint against vertical motion";
        "lateral_stiffness" STIFFNESS "stiffness of one liquid joint against lateral motion";
        "bridging_margin" LENGTH "least free distance between neighbours";
        "bridging_free_share" SHARE "bridging margin over the pitch";
        "bridging_volume_share" SHARE "solder over the volume at which neighbours touch";
        "non_wet_margin" LENGTH "reach of the lowest bump beyond the widest gap";
        "pull_limit" FORCE "largest tension that a liquid joint bears";
        "alignment_frequency" FREQUENCY "frequency of the part on its liquid joints";
        "solder_volume" VOLUME "mean solder of one joint";
        "ubm_left" LENGTH "solderable metal left after reflows and storage";
        "ubm_used" LENGTH "solderable metal that reflows and storage use";
        "ubm_margin" LENGTH "metal left less its reserve";
        "solder_reacted" SHARE "share of the solder in compounds";
        "gold_share" SHARE "mass of gold over the mass of the solder";
        "ball_height" LENGTH "least height of a ball joint";
        "ball_width" LENGTH "largest diameter of a ball joint";
        "ball_neck" LENGTH "least diameter of a ball joint";
        "ball_angle" ANGLE "largest angle inside a ball's solder at a pad";
        "ball_force" FORCE "load of one joint while liquid, balls";
        "ball_stand_off" LENGTH "mean gap between both parts, balls";
        "ball_vertical_stiffness" STIFFNESS "stiffness of one liquid joint against vertical motion, balls";
        "ball_lateral_stiffness" STIFFNESS "stiffness of one liquid joint against lateral motion, balls";
        "ball_bridging_margin" LENGTH "least free distance between neighbours, balls";
        "ball_bridging_free_share" SHARE "bridging margin over the pitch, balls";
        "ball_bridging_volume_share" SHARE "solder over the volume at which neighbours touch, balls";
        "ball_non_wet_margin" LENGTH "reach of the lowest bump beyond the widest gap, balls";
        "ball_pull_limit" FORCE "largest tension that a liquid joint bears, balls";
        "ball_alignment_frequency" FREQUENCY "frequency of the part on its liquid joints, balls";
        "ball_solder_volume" VOLUME "mean solder of one joint, balls";
        "ball_ubm_left" LENGTH "solderable metal left after reflows and storage, balls";
        "ball_ubm_used" LENGTH "solderable metal that reflows and storage use, balls";
        "ball_ubm_margin" LENGTH "metal left less its reserve, balls";
        "ball_solder_reacted" SHARE "share of the solder in compounds, balls";
        "ball_gold_share" SHARE "mass of gold over the mass of the solder, balls";
        "time_above_liquidus" TIME "time that the solder is liquid";
        "peak_over_liquidus" DIFFERENCE "peak of the reflow less the liquidus";
        "reflow_class" NUMBER "limits of the classification profile that the reflow exceeds";
        "classification_temperature" TEMPERATURE "classification temperature of the body";
        "classification_margin" DIFFERENCE "classification temperature less the peak of the reflow";
    }
    "heat" {
        "theta_ja" RESISTANCE "junction to ambient";
        "theta_jb" RESISTANCE "junction to board";
        "theta_jc_top" RESISTANCE "junction to the top of the case";
        "theta_jc_pair" RESISTANCE "junction to case as a pair of transients reads it";
        "theta_ja_no_planes" RESISTANCE "junction to ambient on the standard board without planes";
        "theta_ja_two_planes" RESISTANCE "junction to ambient on the standard board with two planes";
        "theta_jma_1" RESISTANCE "junction to air that moves at 1 m/s";
        "theta_jma_2" RESISTANCE "junction to air that moves at 2 m/s";
        "theta_jma_3" RESISTANCE "junction to air that moves at 3 m/s";
        "psi_jt" RESISTANCE "junction to top of package, over the whole power";
        "psi_jb" RESISTANCE "junction to board, over the whole power";
        "junction_max" TEMPERATURE "hottest place of a die";
        "junction_trace_max" TEMPERATURE "hottest place of a die over the power trace";
        "case_max" TEMPERATURE "hottest place of the top of the case";
        "bump_max" TEMPERATURE "hottest bump";
        "heat_to_board" SHARE "share of the heat that leaves through the board";
        "energy_balance" NUMBER "heat that is not accounted for, over the power";
    }
    "underfill" {
        "fill_time" TIME "time until the gap is full";
        "gel_margin" NUMBER "time to gel over fill time";
        "void_area_fraction" SHARE "void area over die area";
        "largest_void" AREA "area of the largest void";
        "voids_touching_bumps" NUMBER "voids that touch a bump";
        "void_probability" SHARE "draws of the tolerances with more voids than allowed";
        "no_fill_probability" SHARE "draws of the tolerances that do not fill";
        "seen_void_fraction" SHARE "voids in a micrograph, over what is looked at";
        "seen_largest_void" AREA "area of the largest void in a micrograph";
        "seen_voids_touching" NUMBER "voids in a micrograph that touch a bump";
        "seen_voids_bridging" NUMBER "voids in a micrograph that join two bumps";
        "seen_foreseen" SHARE "seen void area where the front predicts voids";
        "dispense_volume" VOLUME "volume to dispense";
        "gel_time" TIME "time until the underfill gels while it flows";
        "gel_temperature" TEMPERATURE "temperature at which the underfill gels in its cure";
        "cure_degree" SHARE "degree of cure at the end of the cure";
        "driving_pressure" STRESS "capillary pressure in the bump field";
        "driving_pressure_least" STRESS "least capillary pressure on the way";
        "permeability" AREA "permeability of the bump field";
        "bump_slowdown" NUMBER "fill time over that of the bare gap";
        "dispense_passes" NUMBER "dispensing passes";
        "contact_angle" ANGLE "mean contact angle of the underfill";
        "surface_energy" ENERGY_PER_AREA "surface energy of the substrate";
        "water_angle" ANGLE "angle of water on the substrate when dispensing";
        "queue_limit" TIME "time after plasma until water reaches 30 deg";
        "shear_rate" RATE "shear rate of the flow at the walls of the gap";
        "plasma_time" TIME "time under this plasma that the limit of water asks for";
        "residue_left" SHARE "residue that the plasma leaves";
        "fillet_width" LENGTH "width of the fillet on the substrate";
        "fillet_height" LENGTH "height of the fillet on the die's wall";
        "volume_error" NUMBER "volume that is not accounted for, over the dispensed";
    }
    "warpage" {
        "warpage_room" LENGTH "signed warpage at room temperature";
        "warpage_peak" LENGTH "signed warpage at the peak of the board reflow";
        "warpage_max_hot" LENGTH "largest warpage above the liquidus";
        "permissible_warpage" LENGTH "warpage that the ball pitch permits";
        "ball_coplanarity" LENGTH "coplanarity of the balls";
        "die_stress_max" STRESS "largest tensile stress in a die";
        "die_failure_probability" SHARE "probability that a die breaks";
        "underfill_shear_max" STRESS "largest shear in the underfill";
        "underfill_peel_max" STRESS "largest peel in the underfill";
        "bond_line_spread" LENGTH "spread of the bond line under the lid";
    }
    "electrical" {
        "bump_resistance" OHMS "resistance of one bump";
        "wire_resistance" OHMS "resistance of the wire that the bump replaces";
        "via_resistance" OHMS "resistance of one via of the redistribution";
        "bump_inductance" INDUCTANCE "partial inductance of one bump";
        "bump_loop_inductance" INDUCTANCE "loop of two neighbouring bumps";
        "wire_inductance" INDUCTANCE "partial inductance of the wire that the bump replaces";
        "wire_loop_inductance" INDUCTANCE "loop of two neighbouring wires";
        "inductance_ratio" NUMBER "loop of two wires over loop of two bumps";
        "trace_impedance" OHMS "characteristic impedance of a trace";
        "trace_capacitance_max" CAPACITANCE "largest capacitance of a net's traces";
        "trace_delay_max" TIME "largest delay along a trace";
        "trace_resistance_max" OHMS "largest resistance of a net's traces";
        "bump_current_max" CURRENT "largest current of one bump";
        "bump_current_density_max" CURRENT_DENSITY "largest current density in a bump";
        "supply_drop_max" VOLTAGE "largest direct drop of a supply net";
        "supply_drop_pair" VOLTAGE "direct drop of supply and return together";
        "supply_drop_wired" VOLTAGE "direct drop of the same supply on wires";
        "joule_heat" POWER "heat of the currents in bumps and traces";
        "supply_bounce" VOLTAGE "bounce of the supply as outputs switch";
        "supply_bounce_wired" VOLTAGE "the same bounce on wires";
    }
    "life" {
        "bump_strain_range" NUMBER "strain range of the worst bump in its worst cycle";
        "bump_cycles_to_failed" CYCLES "cycles until the permitted share of bump arrays has failed";
        "ball_strain_range" NUMBER "strain range of the worst ball in its worst cycle";
        "ball_cycles_to_failed" CYCLES "cycles until the permitted share of ball arrays has failed";
        "mission_damage" NUMBER "Miner's sum of the mission";
        "failed_share_at_life" SHARE "share of parts that have failed by the end of life";
        "life_bumps" TIME "time until the permitted share has failed at the bumps";
        "life_balls" TIME "time until the permitted share has failed at the balls";
        "electromigration_life" TIME "time until the permitted share has failed by electromigration";
        "current_density_max" CURRENT_DENSITY "largest current density in a joint";
        "qualification_cycles" CYCLES "cycles of the qualification's temperature cycling";
        "sample_size" NUMBER "parts on the qualification's temperature cycling";
    }
    "cost" {
        "dies_per_wafer" NUMBER "whole dies on a wafer, of the die with the lowest yield";
        "die_yield" SHARE "lowest yield of a die";
        "assembly_yield" SHARE "yield of all steps of assembly";
        "package_yield" SHARE "yield of assembly with dies that escape their test";
        "cost_dies" NUMBER "price of the dies of one package, in the money of the prices";
        "cost_assembly" NUMBER "price of the steps of one package, in the money of the prices";
        "cost_scrap" NUMBER "money in bad packages for each good one";
        "cost_good_package" NUMBER "money for each good package";
    }
}

/// The figure of that study and name.
pub fn figure(study: &str, name: &str) -> Option<&'static KnownFigure> {
    FIGURES.iter().find(|f| f.study == study && f.name == name)
}
