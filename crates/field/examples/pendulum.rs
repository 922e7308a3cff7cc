//! The period of a pendulum swinging to 90 degrees over that of small swings, by quadrature.

use facedown_field::quadrature;

fn main() -> Result<(), facedown_field::NoConvergence> {
    let m = (std::f64::consts::FRAC_PI_4).sin().powi(2);
    let quarter = quadrature::adaptive(
        |t| 1.0 / (1.0 - m * t.sin().powi(2)).sqrt(),
        0.0,
        std::f64::consts::FRAC_PI_2,
        1e-12,
    )?;
    println!("{:.10}", quarter / std::f64::consts::FRAC_PI_2);
    Ok(())
}
