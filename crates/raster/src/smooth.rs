//! Smoothing by a Gaussian, and slopes.

use crate::Grey;

/// The picture smoothed by a Gaussian of standard deviation `sigma` pixels, cut at four of them; the picture is taken as
/// mirrored at its frame (the edge pixel twice). Nothing changes for a deviation that is not positive.
pub fn gaussian(picture: &Grey, sigma: f64) -> Grey {
    if !(sigma > 0.0 && sigma.is_finite()) {
        return picture.clone();
    }
    let reach = (4.0 * sigma + 0.5) as isize;
    let mut weights: Vec<f64> = (-reach..=reach).map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= sum);
    let (w, h) = (picture.width(), picture.height());
    let along = lines(picture.values(), w, &weights);
    // The same along the columns, by rows of the transposed picture.
    let upright = lines(&transposed(&along, w), h, &weights);
    let values = transposed(&upright, h);
    Grey::from_fn(w, h, |x, y| values[y * w + x])
}

fn transposed(values: &[f32], width: usize) -> Vec<f32> {
    let height = values.len() / width;
    (0..width).flat_map(|x| (0..height).map(move |y| values[y * width + x])).collect()
}

fn lines(values: &[f32], length: usize, weights: &[f64]) -> Vec<f32> {
    let reach = (weights.len() / 2) as isize;
    let n = length as isize;
    let mirrored = |i: isize| {
        let i = i.rem_euclid(2 * n);
        if i < n { i } else { 2 * n - 1 - i }
    };
    let mut out = Vec::with_capacity(values.len());
    for line in values.chunks_exact(length) {
        for x in 0..n {
            let sum: f64 = if x >= reach && x + reach < n {
                let from = (x - reach) as usize;
                line[from..from + weights.len()].iter().zip(weights).map(|(v, w)| f64::from(*v) * w).sum()
            } else {
                (-reach..=reach)
                    .zip(weights)
                    .map(|(k, w)| f64::from(line[mirrored(x + k) as usize]) * w)
                    .sum()
            };
            out.push(sum as f32);
        }
    }
    out
}

/// Slope along x and y at a pixel, by central differences, per pixel; half as steep at the frame.
pub fn slope(picture: &Grey, x: isize, y: isize) -> [f64; 2] {
    let v = |x, y| f64::from(picture.at(x, y));
    [0.5 * (v(x + 1, y) - v(x - 1, y)), 0.5 * (v(x, y + 1) - v(x, y - 1))]
}

/// Steepness of every pixel: the length of its slope.
pub fn steepness(picture: &Grey) -> Grey {
    Grey::from_fn(picture.width(), picture.height(), |x, y| {
        let [a, b] = slope(picture, x as isize, y as isize);
        a.hypot(b) as f32
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_flat_stays_and_the_sum_stays() {
        let flat = Grey::from_fn(7, 5, |_, _| 0.25);
        assert!(gaussian(&flat, 3.0).values().iter().all(|v| (v - 0.25).abs() < 1e-6));
        let point = Grey::from_fn(31, 31, |x, y| f32::from(x == 15 && y == 15));
        let sum: f32 = gaussian(&point, 2.0).values().iter().sum();
        assert!((sum - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_plane_has_its_slope() {
        let plane = Grey::from_fn(9, 9, |x, y| 0.1 * x as f32 - 0.03 * y as f32);
        let [a, b] = slope(&plane, 4, 4);
        assert!((a - 0.1).abs() < 1e-6 && (b + 0.03).abs() < 1e-6);
    }
}
