//! The data files that are built into the program, in the order in which they are read.

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        /// Name and text of each file.
        pub(crate) const FILES: &[(&str, &str)] = &[$(($name, include_str!(concat!("../data/", $name)))),*];
    };
}

files!(
    "silicon.toml",
    "copper.toml",
    "nickel.toml",
    "adhesion_metals.toml",
    "noble_metals.toml",
    "solders_lead_free.toml",
    "solders_lead.toml",
    "intermetallics.toml",
    "passivation.toml",
    "polymers.toml",
    "underfills.toml",
    "laminates.toml",
    "interfaces.toml",
    "lids_and_rings.toml",
    "gases.toml",
);
