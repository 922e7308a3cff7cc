//! What a material says of itself: class, base, source, range, roles, composition.

use super::reader::{Reader, celsius, round};
use crate::library::Library;
use crate::made_of::{MadeOf, Role};
use crate::material::Material;
use crate::property::Property;
use crate::property_name::PropertyName;
use crate::status::Status;
use facedown_diagnostic::{Finding, nearest};
use facedown_quantity::{Kind, kind};
use std::borrow::Cow;
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::DeTable;

/// What properties take over from their material.
#[derive(Clone)]
pub(super) struct Defaults {
    pub(super) source: Option<String>,
    pub(super) status: Option<Status>,
    pub(super) valid: Option<(f64, f64)>,
}

impl Reader<'_> {
    /// The material to start from: `like`, the one of the same name, or nothing but a class.
    pub(super) fn base(
        &mut self,
        name: &Spanned<Cow<'_, str>>,
        table: &DeTable<'_>,
        library: &Library,
    ) -> Option<Material> {
        let own = name.get_ref().to_string();
        let good = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        if own.is_empty() || !own.chars().all(good) {
            let mend: String = own.to_lowercase().chars().map(|c| if good(c) { c } else { '_' }).collect();
            self.push(
                name.span(),
                Finding::error("material-name", format!("`{own}` is not a name for a material"))
                    .allowed("small letters, digits and `_`")
                    .mend(format!("write `{mend}`")),
            );
        }
        let made_of = self.made_of(table);
        let like = match self.string(table, "like") {
            Some(like) => match library.get(&like) {
                Ok(base) => Some(base),
                Err(unknown) => {
                    let mut finding =
                        Finding::error("material-unknown", format!("there is no material `{like}`"))
                            .allowed("a built-in material, or one that stands earlier in this file");
                    if let Some(near) = unknown.nearest {
                        finding = finding.mend(format!("write `{near}`"));
                    }
                    let span = table.get("like").map_or(name.span(), Spanned::span);
                    self.push(span, finding);
                    None
                }
            },
            None => library.get(&own).ok(),
        };
        if let Some(base) = like {
            let title = if base.name == own { base.title.clone() } else { own.replace('_', " ") };
            let made_of = made_of.unwrap_or(base.made_of);
            return Some(Material { name: own, title, made_of, ..base.clone() });
        }
        let Some(made_of) = made_of else {
            if !table.contains_key("made_of") && !table.contains_key("like") {
                let classes: Vec<_> = MadeOf::ALL.iter().map(|m| m.words()).collect();
                let mut finding = Finding::error(
                    "material-class-missing",
                    format!("`{own}` does not say what it is made of"),
                )
                .allowed(classes.join(", "))
                .mend("add `made_of = \"...\"`, or `like = \"...\"` to start from another material");
                if let Some(near) = nearest(&own, library.names()) {
                    finding = finding.mend(format!(
                        "write `{near}` to change the built-in one, or add `made_of = \"...\"`"
                    ));
                }
                self.push(name.span(), finding);
            }
            return None;
        };
        Some(Material {
            title: own.replace('_', " "),
            name: own,
            made_of,
            roles: BTreeMap::new(),
            composition: BTreeMap::new(),
            note: None,
            caution: None,
            properties: BTreeMap::new(),
            from_design: true,
        })
    }

    pub(super) fn made_of(&mut self, table: &DeTable<'_>) -> Option<MadeOf> {
        let words = self.string(table, "made_of")?;
        let found = MadeOf::from_words(&words);
        if found.is_none() {
            let known: Vec<_> = MadeOf::ALL.iter().map(|m| m.words()).collect();
            self.unknown_word(table, "made_of", &words, "a class of material", &known);
        }
        found
    }

    pub(super) fn status(&mut self, table: &DeTable<'_>) -> Option<Status> {
        let words = self.string(table, "status")?;
        let found = Status::from_words(&words);
        if found.is_none() {
            let known: Vec<_> = Status::ALL.iter().map(|s| s.words()).collect();
            self.unknown_word(table, "status", &words, "a status", &known);
        }
        found
    }

    pub(super) fn defaults(&mut self, name: &Spanned<Cow<'_, str>>, table: &DeTable<'_>) -> Defaults {
        let source = self.string(table, "source");
        let status = self.status(table);
        if source.is_none() && !table.contains_key("source") && self.any_property_without_source(table) {
            self.push(
                name.span(),
                Finding::error("material-no-source", format!("`{}` names no source", name.get_ref()))
                    .allowed("a published source in words, `common practice`, `from memory`, or `invented`")
                    .mend("add `source = \"...\"`, or `source = \"invented\"`"),
            );
        }
        Defaults { source, status, valid: self.valid(table) }
    }

    pub(super) fn any_property_without_source(&self, table: &DeTable<'_>) -> bool {
        let Some(properties) = table.get("properties").and_then(|n| n.get_ref().as_table()) else {
            return false;
        };
        properties
            .iter()
            .any(|(_, node)| !node.get_ref().as_table().is_some_and(|t| t.contains_key("source")))
    }

    pub(super) fn roles(&mut self, table: &DeTable<'_>, material: &mut Material) {
        let Some(node) = table.get("roles") else { return };
        let Some(roles) = self.table(node, "a table of roles, each with its source") else { return };
        for (key, node) in roles {
            let word = key.get_ref().as_ref();
            let Some(role) = Role::from_words(word) else {
                let known: Vec<_> = Role::ALL.iter().map(|r| r.words()).collect();
                let mut finding =
                    Finding::error("material-unknown-word", format!("`{word}` is not a role under a bump"))
                        .allowed(known.join(", "));
                if let Some(near) = nearest(word, known.iter().copied()) {
                    finding = finding.mend(format!("write `{near}`"));
                }
                self.push(key.span(), finding);
                continue;
            };
            match node.get_ref().as_str() {
                Some(source) => {
                    material.roles.insert(role, source.to_string());
                }
                None => self.wrong_kind(node, "the source in words"),
            }
        }
    }

    pub(super) fn composition(&mut self, table: &DeTable<'_>, material: &mut Material) {
        let Some(node) = table.get("composition") else { return };
        let Some(parts) = self.table(node, "a table of elements and mass fractions") else { return };
        let mut composition = BTreeMap::new();
        for (key, node) in parts {
            if let Some(read) = self.quantity(node, <kind::Fraction as Kind>::TABLE) {
                composition.insert(key.get_ref().to_string(), read.si);
            }
        }
        let sum: f64 = composition.values().sum();
        if composition.len() == parts.len() && (sum - 1.0).abs() > 1e-6 {
            self.push(
                node.span(),
                Finding::error(
                    "composition-sum",
                    format!("the mass fractions add up to {} %", round(sum * 100.0)),
                )
                .allowed("100 %"),
            );
        }
        material.composition = composition;
    }

    /// `valid = ["-55 degC", "150 degC"]`, as kelvin.
    pub(super) fn valid(&mut self, table: &DeTable<'_>) -> Option<(f64, f64)> {
        let node = table.get("valid")?;
        let (from, to) =
            self.pair(node, <kind::Temperature as Kind>::TABLE, "two temperatures, the lower first")?;
        if from >= to {
            self.push(
                node.span(),
                Finding::error(
                    "range-order",
                    format!("the range runs from {} to {}", celsius(from), celsius(to)),
                )
                .allowed("the lower temperature first"),
            );
            return None;
        }
        Some((from, to))
    }

    pub(super) fn melting_order(&mut self, name: &Spanned<Cow<'_, str>>, material: &Material) {
        let at = |p: PropertyName| material.properties.get(&p).and_then(Property::constant);
        if let (Some(solidus), Some(liquidus)) = (at(PropertyName::Solidus), at(PropertyName::Liquidus))
            && solidus > liquidus
        {
            let what =
                format!("the solidus {} lies above the liquidus {}", celsius(solidus), celsius(liquidus));
            self.push(
                name.span(),
                Finding::error("melting-order", what).allowed("a solidus not above the liquidus"),
            );
        }
    }
}
