//! Reads quantities as a design file writes them, and shows what an error says.
//!
//! Run with `cargo run -p facedown-quantity --example read_and_write`.

use facedown_quantity::{Length, Spread, Toleranced, kind};

fn main() {
    for text in ["75 um +- 5 um", "3 mil", "75", "75 W", "1,5 um"] {
        match Toleranced::<kind::Length>::parse(text) {
            Ok(read) => {
                let sigma = Length::from_si(read.standard_deviation(Spread::default()));
                println!("{text:>14}  =  {} m, standard deviation {sigma}", read.si());
            }
            Err(error) => println!("{text:>14}  {error}"),
        }
    }
}
