//! The form of the package: bare die, stiffener ring, or lid; thermal interfaces; variants.

use crate::grid::CellGrid;
use crate::read::node::{FromNode, Node, Reader};
use crate::read::record::record;
use crate::values::{
    Fraction, Length, MaterialName, Name, Pressure, TablePath, Temperature, ThermalResistanceArea,
};
use serde::Serialize;
use toml::de::DeValue;

/// What stands around and over the die.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub enum Form {
    /// Nothing.
    Bare,
    /// A stiffener ring on the rim of the substrate.
    Ring(Ring),
    /// A lid glued to the rim, with a thermal interface to the die.
    Lid(Lid),
}

record! {
    /// A stiffener ring.
    pub struct Ring: "a ring form" {
        /// Material.
        material: MaterialName,
        /// Width of the ring's band.
        band: Length,
        /// Height of the ring.
        thickness: Length,
        /// Distance of its outer edge from the substrate's edge. Left out: none.
        setback: Option<Length>,
        /// Adhesive.
        adhesive: MaterialName,
        /// Thickness of the adhesive.
        adhesive_thickness: Length,
        /// Temperature at which the adhesive cures. Left out: 150 degC.
        adhesive_cure: Option<Temperature>,
    }
}

record! {
    /// A lid.
    pub struct Lid: "a lid form" {
        /// Material.
        material: MaterialName,
        /// Thickness of its top plate.
        thickness: Length,
        /// Height of its foot below the top plate.
        foot_height: Length,
        /// Width of the foot.
        band: Length,
        /// Distance of its outer edge from the substrate's edge. Left out: none.
        setback: Option<Length>,
        /// Adhesive under the foot.
        adhesive: MaterialName,
        /// Thickness of the adhesive.
        adhesive_thickness: Length,
        /// Temperature at which the adhesive cures. Left out: 150 degC.
        adhesive_cure: Option<Temperature>,
    }
}

record! {
    /// A thermal interface: what fills the gap between two parts.
    pub struct Interface: "a table [[interface]]" {
        /// Name, `TIM1` for the one on the die.
        name: Name,
        /// The two parts that it joins, from below: die names, `lid`, `heat sink`.
        between: [Name; 2],
        /// Material.
        material: MaterialName,
        /// Bond line. Left out: by a scaling law from `pressure` and `yield_stress`.
        thickness: Option<Length>,
        /// Contact resistance of both faces together.
        contact: Option<ThermalResistanceArea>,
        /// Pressure while it is applied.
        pressure: Option<Pressure>,
        /// Yield stress of the filled paste, which rises with its filler.
        yield_stress: Option<Pressure>,
        /// Share of its area that is void, spread evenly.
        voids: Option<Fraction>,
        /// Round voids with their places.
        #[serde(default)]
        void_list "void": Vec<InterfaceVoid>,
        /// Voids as a CSV grid of shares over the outline of the lower part, seen from above.
        void_map: Option<TablePath>,
        => loaded {
            /// The map of voids as read.
            void_cells: Option<CellGrid>,
        }
    }
}

record! {
    /// A round void through the whole bond line.
    pub struct InterfaceVoid: "a table [[interface.void]]" {
        /// Its centre from the centre of the lower part, x and y, seen from above.
        at: [Length; 2],
        /// Its diameter.
        diameter: Length,
    }
}

record! {
    /// The same design with another form.
    pub struct Variant: "a table [[variant]]" {
        /// Name, shown in the comparison.
        name: Name,
        /// The form.
        form: Form,
        /// Its thermal interfaces.
        #[serde(default)]
        interfaces "interface": Vec<Interface>,
    }
}

impl Form {
    /// The word of its kind.
    pub fn word(&self) -> &'static str {
        match self {
            Form::Bare => "bare",
            Form::Ring(_) => "ring",
            Form::Lid(_) => "lid",
        }
    }
}

impl FromNode for Form {
    fn expected() -> String {
        "a form with its kind (bare, ring or lid)".into()
    }

    fn from_node(node: &Node, reader: &mut Reader) -> Option<Self> {
        let DeValue::Table(table) = node.value else {
            reader.wrong_kind(node, &Self::expected());
            return None;
        };
        // The record of the chosen kind knows nothing of the word that chose it.
        let mut rest = table.clone();
        let key = rest.keys().find(|k| k.get_ref() == "kind").cloned();
        let Some((key, kind)) = key.and_then(|k| rest.remove(&k).map(|v| (k, v))) else {
            let what = "the form has no `kind`";
            let finding = facedown_diagnostic::Finding::error("missing-key", what)
                .at(reader.place(node.span.clone()))
                .allowed("bare, ring or lid")
                .mend("add `kind = \"bare\"`");
            reader.report(finding);
            return None;
        };
        let word = reader.step("kind", |reader| {
            let path = reader.path().to_owned();
            reader.places.insert(path, key.span(), kind.span());
            let kind = Node { value: kind.get_ref(), span: kind.span() };
            crate::read::values::word(&kind, reader, "a form", &["bare", "ring", "lid"])
        })?;
        let rest = DeValue::Table(rest);
        let rest = Node { value: &rest, span: node.span.clone() };
        match word {
            "bare" => Bare::from_node(&rest, reader).map(|_| Form::Bare),
            "ring" => Ring::from_node(&rest, reader).map(Form::Ring),
            _ => Lid::from_node(&rest, reader).map(Form::Lid),
        }
    }
}

record! {
    /// A bare form has no keys beside its kind.
    pub struct Bare: "a bare form" {}
}
