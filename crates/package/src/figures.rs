//! The figures that studies report, by study: what a requirement may ask for.
//!
//! Studies stand on floors above this one, so their figures are named here once, with the kind of quantity that
//! a limit must have. A study that is not built yet may be required already; its verdict then reads `not judged`.

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

const LENGTH: Option<&KindTable> = Some(kind::Length::TABLE);
const SHARE: Option<&KindTable> = Some(kind::Fraction::TABLE);
const RESISTANCE: Option<&KindTable> = Some(kind::ThermalResistance::TABLE);
const TEMPERATURE: Option<&KindTable> = Some(kind::Temperature::TABLE);
const STRESS: Option<&KindTable> = Some(kind::Stress::TABLE);
const TIME: Option<&KindTable> = Some(kind::Time::TABLE);
const VOLUME: Option<&KindTable> = Some(kind::Volume::TABLE);
const AREA: Option<&KindTable> = Some(kind::Area::TABLE);
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
    "heat" {
        "theta_ja" RESISTANCE "junction to ambient";
        "theta_jb" RESISTANCE "junction to board";
        "theta_jc_top" RESISTANCE "junction to the top of the case";
        "psi_jt" RESISTANCE "junction to top of package, over the whole power";
        "psi_jb" RESISTANCE "junction to board, over the whole power";
        "junction_max" TEMPERATURE "hottest place of a die";
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
        "dispense_volume" VOLUME "volume to dispense";
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
}

/// The figure of that study and name.
pub fn figure(study: &str, name: &str) -> Option<&'static KnownFigure> {
    FIGURES.iter().find(|f| f.study == study && f.name == name)
}

/// Studies of later floors whose figures are not named yet; a requirement on one of them is kept as it stands.
pub const COMING: &[&str] = &["joints", "electrical", "life", "cost"];
