//! One property of a material: value or curve, range, spread, source.

use super::PROPERTY_KEYS;
use super::heading::Defaults;
use super::reader::{Node, Reader, celsius};
use crate::property::{Property, Values};
use crate::property_name::{Measure, PropertyName};
use crate::status::Status;
use facedown_diagnostic::{Finding, nearest};
use facedown_quantity::{Kind, Read, kind};
use std::borrow::Cow;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

impl Reader<'_> {
    pub(super) fn measured(&mut self, node: Node<'_, '_>, name: PropertyName) -> Option<Read> {
        let read = match name.measure() {
            Measure::Quantity(table) => self.quantity(node, table),
            Measure::Number => self.number(node),
        }?;
        let (least, most) = name.sane_bounds();
        if !(least..=most).contains(&read.si) {
            let text = |si: f64| match name.measure() {
                Measure::Quantity(table) => facedown_quantity::write_as(si, table),
                Measure::Number => si.to_string(),
            };
            self.push(
                node.span(),
                Finding::error(
                    "property-unlikely",
                    format!("`{name}` of {} is not possible in a package", text(read.si)),
                )
                .allowed(format!("{} to {}", text(least), text(most)))
                .mend("check the unit and the power of ten"),
            );
            return None;
        }
        Some(read)
    }

    pub(super) fn property(
        &mut self,
        key: &Spanned<Cow<'_, str>>,
        node: Node<'_, '_>,
        defaults: &Defaults,
    ) -> Option<Property> {
        let word = key.get_ref().as_ref();
        let Some(name) = PropertyName::from_words(word) else {
            let known: Vec<_> = PropertyName::ALL.iter().map(|p| p.words()).collect();
            let mut finding = Finding::error("property-unknown", format!("`{word}` is not a property"))
                .allowed(known.join(", "));
            if let Some(near) = nearest(word, known.iter().copied()) {
                finding = finding.mend(format!("write `{near}`"));
            }
            self.push(key.span(), finding);
            return None;
        };
        let empty = DeTable::new();
        let (written, table) = match node.get_ref() {
            DeValue::Table(table) => {
                self.unknown_keys(table, &PROPERTY_KEYS, "property-unknown-key", "a property");
                (self.value_node(key, table)?, table)
            }
            _ => (node, &empty),
        };
        let (values, tolerance) = self.values(written, name)?;
        let range = self.range(node, name, &values, table, defaults);
        let source = self
            .string(table, "source")
            .or_else(|| defaults.source.clone())
            .unwrap_or_else(|| "not named".into());
        let own_source = table.contains_key("source");
        let status = self
            .status(table)
            .or(if own_source { None } else { defaults.status })
            .unwrap_or_else(|| Status::of_source(&source));
        let spread = table.get("spread").and_then(|node| self.spread(node, name));
        let note = self.string(table, "note");
        Some(Property { name, values, range, spread, tolerance, source, status, note })
    }

    pub(super) fn value_node<'a, 'i>(
        &mut self,
        key: &Spanned<Cow<'_, str>>,
        table: &'a DeTable<'i>,
    ) -> Option<Node<'a, 'i>> {
        match (table.get("value"), table.get("curve")) {
            (Some(node), None) | (None, Some(node)) => Some(node),
            (Some(node), Some(_)) => {
                let what = format!("`{}` has both a value and a curve", key.get_ref());
                self.push(key.span(), Finding::error("property-two-values", what).mend("keep one of them"));
                Some(node)
            }
            (None, None) => {
                let what = format!("`{}` has no value", key.get_ref());
                self.push(
                    key.span(),
                    Finding::error("property-no-value", what)
                        .mend("add `value = \"...\"` or `curve = [[\"25 degC\", \"...\"], ...]`"),
                );
                None
            }
        }
    }

    pub(super) fn values(
        &mut self,
        node: Node<'_, '_>,
        name: PropertyName,
    ) -> Option<(Values, Option<(f64, f64)>)> {
        let Some(list) = node.get_ref().as_array() else {
            let read = self.measured(node, name)?;
            return Some((Values::Constant(read.si), read.tolerance.map(|t| (t.plus, t.minus))));
        };
        if !name.is_over_temperature() {
            self.push(
                node.span(),
                Finding::error("curve-not-taken", format!("{name} is not a function of temperature"))
                    .allowed("one value"),
            );
            return None;
        }
        let mut points: Vec<(f64, f64)> = Vec::new();
        let mut whole = true;
        for point in list {
            let pair = point.get_ref().as_array().filter(|p| p.len() == 2);
            let Some(pair) = pair else {
                self.wrong_kind(point, "a point of temperature and value");
                whole = false;
                continue;
            };
            let temperature = self.quantity(&pair[0], <kind::Temperature as Kind>::TABLE);
            let value = self.measured(&pair[1], name);
            let Some((t, v)) = temperature.zip(value) else {
                whole = false;
                continue;
            };
            if let Some(&(last, _)) = points.last()
                && t.si <= last
            {
                let what = format!("{} does not come after {}", celsius(t.si), celsius(last));
                self.push(
                    pair[0].span(),
                    Finding::error("curve-order", what).allowed("points that rise in temperature"),
                );
                whole = false;
                continue;
            }
            points.push((t.si, v.si));
        }
        if whole && points.len() < 2 {
            self.push(
                node.span(),
                Finding::error(
                    "curve-short",
                    format!("a curve needs at least two points, found {}", points.len()),
                )
                .mend("write one value as text, or add a point"),
            );
            return None;
        }
        (whole || points.len() >= 2).then_some((Values::Curve(points), None))
    }

    pub(super) fn range(
        &mut self,
        node: Node<'_, '_>,
        name: PropertyName,
        values: &Values,
        table: &DeTable<'_>,
        defaults: &Defaults,
    ) -> Option<(f64, f64)> {
        let own = self.valid(table);
        match values {
            // a curve holds where it has points; a stated range may only narrow that
            Values::Curve(points) => {
                let ends = (points.first()?.0, points.last()?.0);
                if let Some((from, to)) = own
                    && (from < ends.0 || to > ends.1)
                {
                    self.push(
                        table.get("valid").map_or(node.span(), Spanned::span),
                        Finding::error(
                            "range-beyond-curve",
                            format!("the range goes beyond the points of {name}"),
                        )
                        .allowed(format!(
                            "{} to {}",
                            celsius(ends.0),
                            celsius(ends.1)
                        )),
                    );
                    return Some(ends);
                }
                Some(own.unwrap_or(ends))
            }
            Values::Constant(_) if name.is_over_temperature() => own.or(defaults.valid),
            Values::Constant(_) => None,
        }
    }

    pub(super) fn spread(&mut self, node: Node<'_, '_>, name: PropertyName) -> Option<(f64, f64)> {
        let list = node.get_ref().as_array().filter(|l| l.len() == 2);
        let Some(list) = list else {
            self.wrong_kind(node, "two values, the lower first");
            return None;
        };
        let low = self.measured(&list[0], name)?.si;
        let high = self.measured(&list[1], name)?.si;
        if low > high {
            self.push(
                node.span(),
                Finding::error("spread-order", "the lowest value is above the highest")
                    .allowed("the lower value first"),
            );
            return None;
        }
        Some((low, high))
    }
}
