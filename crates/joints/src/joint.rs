//! One joint: its shape at a given height, and the force and stiffness that belong to it.
//!
//! Both rims are pinned at the edges of the wetted pads and the volume is given, so pressure, inclination and length of
//! the outline are three unknowns of three smooth equations (radius at the upper rim, height, volume), solved by
//! Newton's method with exact derivatives. The search starts at the truncated sphere and follows the branch in height,
//! so that it never lands on a self-crossing shape; it ends where the liquid would run over a pad's edge (180 degrees)
//! or where the joint parts (the fold of the branch). Surface tension scales out of the shape; forces are given over
//! it. A few microseconds a shape.

use crate::sphere;
use crate::surface::{Outline, Sums};
use std::cell::{Cell, RefCell};
use std::f64::consts::PI;

/// A volume of liquid between two round pads. Lengths in m, volume in m3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joint {
    /// Radius of the lower wetted area.
    pub lower: f64,
    /// Radius of the upper wetted area.
    pub upper: f64,
    /// Volume of the liquid.
    pub volume: f64,
}

/// A joint in shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Height from pad to pad, m.
    pub height: f64,
    /// The outline, m.
    pub outline: Outline,
    /// Inclination of the outline at the upper rim, rad: the angle inside the liquid at the upper pad.
    pub angle_upper: f64,
    /// Changes of pressure, inclination and length with height at constant volume, in the joint's own scale.
    along: [f64; 3],
    /// Sign of the determinant of the equations, which changes where the branch folds.
    orientation: f64,
}

/// How far a joint follows a wanted height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reach {
    /// It takes that height.
    Shape(Shape),
    /// The liquid would run over the edge of a pad below the height of this last shape.
    Overruns(Shape),
    /// It parts above the height of this last shape.
    Parts(Shape),
}

/// Largest change of height in one step along the branch.
const STEP: f64 = 0.12;
/// Where the search for the end of a branch stops, over the height.
const FINEST: f64 = 1e-6;

impl Joint {
    /// The shape that carries nothing: the truncated sphere.
    pub fn unloaded(&self) -> Shape {
        let height = sphere::slice_height(self.lower, self.upper, self.volume);
        let radius = sphere::radius(self.lower, self.upper, height);
        let centre = sphere::centre_height(self.lower, self.upper, height);
        let inclination = self.lower.atan2(centre);
        let last = self.upper.atan2(centre - height);
        let outline = Outline {
            rim: self.lower,
            inclination,
            pressure: 2.0 / radius,
            length: radius * (last - inclination),
        };
        self.finish(height, outline, outline.sums())
    }

    /// The shape at a height in m, followed from the unloaded one.
    pub fn at_height(&self, height: f64) -> Reach {
        self.follow(self.unloaded(), height)
    }

    /// Follows the branch from a shape of this joint to a height in m.
    fn follow(&self, mut shape: Shape, height: f64) -> Reach {
        let mut step = STEP * shape.height;
        while shape.height != height {
            let left = height - shape.height;
            let next = if left.abs() <= step { height } else { shape.height + step.copysign(left) };
            match self.move_to(&shape, next) {
                Some(found) => {
                    shape = found;
                    step = (1.5 * step).min(STEP * shape.height);
                }
                None if step < FINEST * shape.height || left.abs() < FINEST * shape.height => {
                    return if left < 0.0 { Reach::Overruns(shape) } else { Reach::Parts(shape) };
                }
                None => step = 0.5 * step.min(left.abs()),
            }
        }
        Reach::Shape(shape)
    }

    /// Newton's method from a neighbouring shape; nothing where it leaves the branch.
    fn move_to(&self, from: &Shape, height: f64) -> Option<Shape> {
        let scale = self.lower;
        let (b, h) = (self.upper / scale, height / scale);
        let volume = self.volume / (PI * scale.powi(3));
        let step = (height - from.height) / scale;
        let start = [from.outline.pressure * scale, from.outline.inclination, from.outline.length / scale];
        let mut x: [f64; 3] = std::array::from_fn(|i| start[i] + from.along[i] * step);
        for _ in 0..12 {
            let outline = Outline { rim: 1.0, inclination: x[1], pressure: x[0], length: x[2] };
            let sums = outline.sums();
            if !sums.plain || x[2] <= 0.0 {
                return None;
            }
            let wrong = [sums.end[0] - b * b, sums.height[0] - h, sums.volume[0] - volume];
            let (change, _) = cramer(&sums, wrong)?;
            for (value, change) in x.iter_mut().zip(change) {
                *value -= change;
            }
            // Far from the predicted place lies another branch.
            if (0..3).any(|i| (x[i] - start[i]).abs() > 0.6 * (0.3 + start[i].abs())) {
                return None;
            }
            if (0..3).all(|i| change[i].abs() < 3e-14 * (1.0 + x[i].abs()))
                || (wrong[0].abs() < 2e-14 * b * b
                    && wrong[1].abs() < 2e-14 * h
                    && wrong[2].abs() < 2e-14 * volume)
            {
                let outline =
                    Outline { rim: scale, inclination: x[1], pressure: x[0] / scale, length: x[2] * scale };
                let sums = outline.sums();
                let shape = self.finish(height, outline, sums);
                let on_branch = sums.plain
                    && shape.orientation == from.orientation
                    && shape.along.iter().all(|v| v.is_finite())
                    && shape.outline.inclination > 0.0
                    && shape.angle_upper > 0.0
                    && shape.angle_upper < PI;
                return on_branch.then_some(shape);
            }
        }
        None
    }

    fn finish(&self, height: f64, outline: Outline, sums: Sums) -> Shape {
        let scale = self.lower;
        let unit = Outline {
            rim: 1.0,
            inclination: outline.inclination,
            pressure: outline.pressure * scale,
            length: outline.length / scale,
        };
        let unit_sums = if scale == 1.0 { sums } else { unit.sums() };
        let (along, determinant) = cramer(&unit_sums, [0.0, 1.0, 0.0]).unwrap_or(([f64::NAN; 3], 0.0));
        let end = outline.point(outline.length);
        Shape {
            height,
            outline,
            angle_upper: end.sine.atan2(end.cosine),
            along,
            orientation: determinant.signum(),
        }
    }

    /// Lateral stiffness over surface tension of a shape of this joint: force on the upper pad over its offset, both
    /// rims pinned and parallel.
    ///
    /// `k = -F / (n_top - n_bottom)` with `n = z + r cot psi`, the height at which the normal to the surface meets the
    /// axis at a rim. Derived: shifting and turning the surface as a rigid body are exact first-order changes of a
    /// surface of constant mean curvature; the combination that keeps the lower rim in place and shifts the upper one
    /// is the wanted shape. Numerator and denominator vanish together without load; near there the quotient of their
    /// changes half way to the unloaded shape takes over, whose error is of second order.
    pub fn lateral_stiffness(&self, shape: &Shape) -> f64 {
        let (a, b) = (self.lower, self.upper);
        let cotangent = |angle: f64| angle.cos() / angle.sin();
        let axial = shape.outline.axial();
        if axial.abs() > 1e-3 * a {
            let bottom = a * cotangent(shape.outline.inclination);
            let top = shape.height + b * cotangent(shape.angle_upper);
            return -PI * axial / (top - bottom);
        }
        let unloaded = self.unloaded();
        let half = match self.at_height(0.5 * (shape.height + unloaded.height)) {
            Reach::Shape(half) => half,
            Reach::Overruns(_) | Reach::Parts(_) => unloaded,
        };
        let scale = a;
        let ratio = b / scale;
        let (sine, cosine) = half.outline.inclination.sin_cos();
        let unit = Outline {
            rim: 1.0,
            inclination: half.outline.inclination,
            pressure: half.outline.pressure * scale,
            length: half.outline.length / scale,
        };
        let [p, i, l] = half.along;
        let by = unit.slope_changes();
        let cosine_change = (by[0] * p + by[1] * i + by[2] * l) / (2.0 * ratio);
        let sine_change = (cosine * i + 0.5 * (ratio * ratio - 1.0) * p) / ratio;
        let (upper_sine, upper_cosine) = half.angle_upper.sin_cos();
        let upper_change = upper_cosine * sine_change - upper_sine * cosine_change;
        let normals = 1.0 - ratio * upper_change / (upper_sine * upper_sine) + i / (sine * sine);
        let axial_change = p - 2.0 * cosine * i;
        -PI * axial_change / normals
    }
}

impl Shape {
    /// Force on the upper pad over surface tension, m; positive pushes the pads apart.
    pub fn force(&self) -> f64 {
        PI * self.outline.axial()
    }

    /// Vertical stiffness `-dF/dh` over surface tension, dimensionless, at constant volume.
    pub fn vertical_stiffness(&self) -> f64 {
        -PI * (self.along[0] - 2.0 * self.outline.inclination.cos() * self.along[1])
    }

    /// Angle inside the liquid at the lower pad, rad.
    pub fn angle_lower(&self) -> f64 {
        PI - self.outline.inclination
    }

    /// The larger of the angles inside the liquid at both pads, rad.
    pub fn angle_largest(&self) -> f64 {
        self.angle_lower().max(self.angle_upper)
    }

    /// Bound of the numerical error of the height, m: the two rules against each other, the volume's difference turned
    /// into height by the area of the narrower pad.
    pub fn height_error(&self) -> Option<f64> {
        let [height, volume, _] = self.outline.measure();
        let [height_again, volume_again] = self.outline.measure_adaptively(1e-12).ok()?;
        let (_, narrowest) = self.outline.extremes();
        let area = PI * narrowest * narrowest;
        let rounding = 4.0 * f64::EPSILON * self.height;
        Some((height - height_again).abs() + (volume - volume_again).abs() / area + rounding)
    }
}

/// A joint with the shapes that were found on its branch, so that the next one is followed from its neighbour and not
/// from the unloaded one. An array asks for a joint at hundreds of heights near each other.
#[derive(Debug)]
pub struct Branch {
    joint: Joint,
    unloaded: Shape,
    /// Shapes in rising height, the unloaded one among them.
    known: RefCell<Vec<Shape>>,
    /// The last shapes at which the branch ends, pressed and pulled, where an end was met.
    ends: [Cell<Option<Shape>>; 2],
}

impl Branch {
    /// The branch of a joint.
    pub fn new(joint: Joint) -> Branch {
        let unloaded = joint.unloaded();
        let ends = [Cell::new(None), Cell::new(None)];
        Branch { joint, unloaded, known: RefCell::new(vec![unloaded]), ends }
    }

    /// The unloaded shape's height, m.
    pub fn free_height(&self) -> f64 {
        self.unloaded.height
    }

    /// As [`Joint::at_height`].
    pub fn at_height(&self, height: f64) -> Reach {
        if let Some(last) = self.ends[0].get().filter(|last| height < last.height) {
            return Reach::Overruns(last);
        }
        if let Some(last) = self.ends[1].get().filter(|last| height > last.height) {
            return Reach::Parts(last);
        }
        let (place, near) = {
            let known = self.known.borrow();
            let place = known.partition_point(|s| s.height < height);
            let below = place.checked_sub(1).map(|i| known[i]);
            let near = match (below, known.get(place).copied()) {
                (Some(a), Some(b)) => {
                    if height - a.height < b.height - height {
                        a
                    } else {
                        b
                    }
                }
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => self.unloaded,
            };
            (place, near)
        };
        let reach = self.joint.follow(near, height);
        match reach {
            Reach::Shape(shape) if shape.height != near.height => {
                self.known.borrow_mut().insert(place, shape)
            }
            Reach::Shape(_) => {}
            Reach::Overruns(last) => self.ends[0].set(Some(last)),
            Reach::Parts(last) => self.ends[1].set(Some(last)),
        }
        reach
    }
}

/// Solves the three equations by Cramer's rule; also their determinant.
fn cramer(sums: &Sums, right: [f64; 3]) -> Option<([f64; 3], f64)> {
    let row = |v: &[f64; 4]| [v[1], v[2], v[3]];
    let m = [row(&sums.end), row(&sums.height), row(&sums.volume)];
    let det = |c: [[f64; 3]; 3]| {
        c[0][0] * (c[1][1] * c[2][2] - c[1][2] * c[2][1]) - c[0][1] * (c[1][0] * c[2][2] - c[1][2] * c[2][0])
            + c[0][2] * (c[1][0] * c[2][1] - c[1][1] * c[2][0])
    };
    let whole = det(m);
    if !whole.is_finite() || whole == 0.0 {
        return None;
    }
    let solution = std::array::from_fn(|column| {
        let mut changed = m;
        for (line, value) in changed.iter_mut().zip(right) {
            line[column] = value;
        }
        det(changed) / whole
    });
    Some((solution, whole))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn shape(joint: &Joint, height: f64) -> Shape {
        match joint.at_height(height) {
            Reach::Shape(shape) => shape,
            other => panic!("no shape: {other:?}"),
        }
    }

    #[test]
    fn the_unloaded_joint_has_the_stiffnesses_of_the_sphere() {
        let joint = Joint { lower: 40e-6, upper: 40e-6, volume: 469_144.503e-18 };
        let free = joint.unloaded();
        assert!(free.force().abs() < 1e-18);
        let vertical = sphere::vertical_stiffness(40e-6, free.height, 1.0);
        let lateral = sphere::lateral_stiffness(40e-6, free.height, 1.0);
        assert!((free.vertical_stiffness() / vertical - 1.0).abs() < 1e-11);
        assert!((joint.lateral_stiffness(&free) / lateral - 1.0).abs() < 1e-10);
        // Continuous where the two forms of the lateral one meet.
        let near = shape(&joint, free.height * (1.0 - 1e-4));
        let k = joint.lateral_stiffness(&near);
        assert!((k / lateral - 1.0).abs() < 1e-3, "{k} {lateral}");
    }

    #[test]
    fn the_two_forms_of_the_lateral_stiffness_agree_where_they_meet() {
        for upper in [40e-6, 33e-6, 55e-6] {
            let joint = Joint { lower: 40e-6, upper, volume: 469_144.503e-18 };
            let free = joint.unloaded();
            // A shape just inside the limit at which the quotient itself is used.
            let slope = free.vertical_stiffness() / PI;
            let near = shape(&joint, free.height - 0.98e-3 * joint.lower / slope);
            assert!(near.outline.axial().abs() < 1e-3 * joint.lower);
            let by_quotient = {
                let cotangent = |angle: f64| angle.cos() / angle.sin();
                let bottom = joint.lower * cotangent(near.outline.inclination);
                let top = near.height + joint.upper * cotangent(near.angle_upper);
                -PI * near.outline.axial() / (top - bottom)
            };
            assert!((joint.lateral_stiffness(&near) / by_quotient - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_joint_overruns_when_pressed_and_parts_when_pulled() {
        let joint = Joint { lower: 40e-6, upper: 40e-6, volume: 469_144.503e-18 };
        let Reach::Overruns(last) = joint.at_height(10e-6) else { panic!("holds") };
        assert!(last.angle_largest() > 179.0_f64.to_radians() && last.height > 10e-6);
        let Reach::Parts(last) = joint.at_height(400e-6) else { panic!("holds") };
        assert!(last.height > 150e-6 && last.height < 170e-6 && last.force() < 0.0, "{last:?}");
    }

    proptest! {
        #[test]
        fn turning_a_joint_over_changes_nothing(
            a in 20e-6..60e-6_f64, ratio in 0.6..1.6_f64, fill in 0.5..2.0_f64, press in 0.85..1.1_f64,
        ) {
            let b = a * ratio;
            let volume = fill * a * a * b;
            let (up, down) = (Joint { lower: a, upper: b, volume: 3.0 * volume }, Joint { lower: b, upper: a, volume: 3.0 * volume });
            let height = up.unloaded().height * press;
            if let (Reach::Shape(one), Reach::Shape(other)) = (up.at_height(height), down.at_height(height)) {
                prop_assert!((one.force() - other.force()).abs() < 1e-9 * a);
                prop_assert!((one.angle_upper - other.angle_lower()).abs() < 1e-9);
                prop_assert!((one.vertical_stiffness() / other.vertical_stiffness() - 1.0).abs() < 1e-8);
                prop_assert!((up.lateral_stiffness(&one) / down.lateral_stiffness(&other) - 1.0).abs() < 1e-5);
                let (wide, narrow) = one.outline.extremes();
                prop_assert!((wide / other.outline.extremes().0 - 1.0).abs() < 1e-9 && narrow <= a.min(b) * (1.0 + 1e-9));
            }
        }

        #[test]
        fn force_falls_as_the_joint_is_stretched_near_its_free_height(
            a in 20e-6..300e-6_f64, ratio in 0.7..1.4_f64, fill in 0.8..3.0_f64,
        ) {
            let joint = Joint { lower: a, upper: a * ratio, volume: fill * a.powi(3) };
            let free = joint.unloaded();
            let mut before = f64::INFINITY;
            for step in 0..9 {
                let height = free.height * (0.96 + 0.01 * f64::from(step));
                if let Reach::Shape(shape) = joint.at_height(height) {
                    prop_assert!(shape.force() < before);
                    before = shape.force();
                    let d = 1e-5 * height;
                    if let (Reach::Shape(up), Reach::Shape(down)) = (joint.at_height(height + d), joint.at_height(height - d)) {
                        let slope = (down.force() - up.force()) / (2.0 * d);
                        prop_assert!((slope / shape.vertical_stiffness() - 1.0).abs() < 1e-4);
                    }
                }
            }
        }

        #[test]
        fn nothing_panics_on_odd_joints(
            a in -7.0..-2.0_f64, b in -7.0..-2.0_f64, v in -20.0..-6.0_f64, h in -8.0..-1.0_f64,
        ) {
            let joint = Joint { lower: 10_f64.powf(a), upper: 10_f64.powf(b), volume: 10_f64.powf(v) };
            if let Reach::Shape(shape) = joint.at_height(10_f64.powf(h)) {
                prop_assert!(shape.force().is_finite() && shape.vertical_stiffness().is_finite());
            }
        }
    }
}
