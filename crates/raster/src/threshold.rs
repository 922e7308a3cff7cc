//! Levels that part two kinds of pixels.

/// Bins of the histogram.
const BINS: usize = 256;

/// The level that parts values into two classes with the largest variance between them, as the centre of one of 256 bins
/// over their range (N. Otsu, A threshold selection method from gray-level histograms, IEEE Trans. Systems, Man, and
/// Cybernetics 9 (1979) 62, eq. 17). Values above it are the upper class. Nothing where all values are alike or one is
/// not a number.
pub fn otsu(values: &[f32]) -> Option<f64> {
    let (least, most) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), v| (l.min(f64::from(*v)), m.max(f64::from(*v))));
    if !(most > least && values.iter().all(|v| v.is_finite())) {
        return None;
    }
    let width = (most - least) / BINS as f64;
    let mut counts = [0_u64; BINS];
    for v in values {
        counts[(((f64::from(*v) - least) / width) as usize).min(BINS - 1)] += 1;
    }
    let centre = |i: usize| least + (i as f64 + 0.5) * width;
    let total = values.len() as f64;
    let sum: f64 = counts.iter().enumerate().map(|(i, n)| *n as f64 * centre(i)).sum();
    let (mut below, mut below_sum) = (0.0, 0.0);
    let mut best = (f64::NEG_INFINITY, 0);
    for (i, count) in counts.iter().enumerate().take(BINS - 1) {
        below += *count as f64;
        below_sum += *count as f64 * centre(i);
        let above = total - below;
        if below == 0.0 || above == 0.0 {
            continue;
        }
        let apart = below_sum / below - (sum - below_sum) / above;
        let between = below * above * apart * apart;
        if between > best.0 {
            best = (between, i);
        }
    }
    Some(centre(best.1))
}

/// The middle value of a set and its spread as 1.4826 times the median of the distances from it, which is the standard
/// deviation of a normal distribution (F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383). Nothing for no values.
pub fn middle_and_spread(values: &[f64]) -> Option<(f64, f64)> {
    let mut sorted = values.to_vec();
    let middle = median(&mut sorted)?;
    let mut apart: Vec<f64> = values.iter().map(|v| (v - middle).abs()).collect();
    Some((middle, 1.4826 * median(&mut apart)?))
}

/// The median; reorders the values.
pub fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let (half, odd) = (values.len() / 2, values.len() % 2 == 1);
    let (lower, middle, _) = values.select_nth_unstable_by(half, f64::total_cmp);
    let middle = *middle;
    if odd {
        return Some(middle);
    }
    let below = lower.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(0.5 * (below + middle))
}

/// Two kinds of pixels that may be very unlike in number: most of one kind, some brighter ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parting {
    /// Level of the many.
    pub ground: f64,
    /// Standard deviation of the noise about it.
    pub noise: f64,
    /// Level of the brighter ones; nothing where none stand out.
    pub bright: Option<f64>,
    /// The level that parts them: half way, where a blurred edge between both keeps its place.
    pub level: f64,
    /// The band in which the level may lie, low and high.
    pub band: [f64; 2],
}

/// Parts the brighter pixels from the many.
///
/// Where the level of [`otsu`] parts two heaps that lie further apart than four times the deviation of either, those are
/// the two kinds. Else the many are taken by their median and its robust spread, again without what stands out until that does
/// not change; what stands out by more than `deviations` of it and by more than `least_contrast` has a level of its own, the
/// median of its upper half (its lower half may be pixels cut by an edge). The band takes a tenth of the contrast, or two
/// deviations of the noise where that is more, to either side, and never leaves the two levels. Where nothing stands out, the
/// level is that beyond which it would. Nothing for fewer than 16 values or values that are no numbers.
pub fn part(values: &[f32], deviations: f64, least_contrast: f64) -> Option<Parting> {
    if values.len() < 16 || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let wide: Vec<f64> = values.iter().map(|v| f64::from(*v)).collect();
    if let Some(level) = otsu(values) {
        let (below, above): (Vec<f64>, Vec<f64>) = wide.iter().partition(|v| **v <= level);
        if let (Some(low), Some(high)) = (middle_and_spread(&below), middle_and_spread(&above))
            && high.0 - low.0 > (4.0 * low.1.max(high.1)).max(least_contrast)
            && below.len() * 50 > wide.len()
            && above.len() * 50 > wide.len()
        {
            return Some(between(low.0, low.1, high.0));
        }
    }
    let mut many = wide.clone();
    for _ in 0..8 {
        let (ground, noise) = middle_and_spread(&many)?;
        let limit = ground + (deviations * noise).max(least_contrast);
        let kept: Vec<f64> = wide.iter().copied().filter(|v| *v <= limit).collect();
        if kept.len() == many.len() || kept.len() < 16 {
            break;
        }
        many = kept;
    }
    let (ground, noise) = middle_and_spread(&many)?;
    let limit = ground + (deviations * noise).max(least_contrast);
    let mut beyond: Vec<f64> = wide.into_iter().filter(|v| *v > limit).collect();
    let Some(centre) = median(&mut beyond) else {
        return Some(Parting { ground, noise, bright: None, level: limit, band: [limit, limit] });
    };
    beyond.retain(|v| *v >= centre);
    Some(between(ground, noise, median(&mut beyond).unwrap_or(centre)))
}

fn between(ground: f64, noise: f64, bright: f64) -> Parting {
    let contrast = bright - ground;
    let level = (0.5 * (ground + bright)).max(ground + 3.0 * noise);
    let reach = (0.1 * contrast).max(2.0 * noise).min(0.4 * contrast);
    Parting { ground, noise, bright: Some(bright), level, band: [level - reach, level + reach] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_heaps_are_parted_between_them_and_one_value_is_not() {
        let values: Vec<f32> =
            (0..1000).map(|i| if i < 300 { 0.2 } else { 0.8 } + (i % 7) as f32 * 0.01).collect();
        let level = otsu(&values).unwrap();
        assert_eq!(values.iter().filter(|v| f64::from(**v) > level).count(), 700);
        assert_eq!(otsu(&[0.5; 10]), None);
        assert_eq!(otsu(&[0.5, f32::NAN]), None);
    }

    #[test]
    fn a_few_bright_pixels_are_found_where_a_level_between_heaps_fails() {
        // Noise of 0.02 by a fixed sequence; one pixel of a thousand is bright.
        let noise = |i: i32| (i * 7919 % 1000) as f32 / 500.0 - 1.0;
        let mut values: Vec<f32> = (0..20_000).map(|i| 0.4 + 0.02 * noise(i)).collect();
        values.iter_mut().step_by(1000).for_each(|v| *v = 0.65);
        let found = part(&values, 6.0, 0.02).unwrap();
        assert!((found.ground - 0.4).abs() < 1e-3 && (found.bright.unwrap() - 0.65).abs() < 1e-6);
        let above = |level: f64| values.iter().filter(|v| f64::from(**v) > level).count();
        assert_eq!((above(found.band[0]), above(found.band[1])), (20, 20));
        values.retain(|v| *v < 0.6);
        assert_eq!(part(&values, 6.0, 0.02).unwrap().bright, None);
        // Half and half: the median alone would lie between.
        let halves: Vec<f32> = values.iter().enumerate().map(|(i, v)| v + 0.3 * (i % 2) as f32).collect();
        let found = part(&halves, 6.0, 0.02).unwrap();
        assert!((found.ground - 0.4).abs() < 0.01 && (found.bright.unwrap() - 0.7).abs() < 0.01);
    }

    #[test]
    fn medians() {
        assert_eq!(median(&mut [3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&mut [4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median(&mut []), None);
    }
}
