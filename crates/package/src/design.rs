//! The whole design: what one file describes.

use crate::die::Die;
use crate::form::{Form, Interface, Variant};
use crate::material::Materials;
use crate::mission::{Environment, Mission};
use crate::places::Places;
use crate::power_trace::PowerTrace;
use crate::prices::Prices;
use crate::process::Process;
use crate::qualification::Qualification;
use crate::read::record::record;
use crate::requirement::Requirement;
use crate::stack::{Balls, Board, Interposer, Substrate};
use facedown_quantity::Spread;

record! {
    /// A flip-chip package: the dies, what they stand on, the form around them, the process, the mission, and
    /// what is required of it.
    ///
    /// Every quantity is text with its unit (`"150 um"`, `"4.5 W"`, `"260 degC"`) and may carry its tolerance
    /// (`"75 um +- 5 um"`).
    pub struct Design: "the design file" {
        /// Name and nature of the design.
        heading "design": Heading,
        /// Materials that this design adds or overrides, by name.
        #[serde(default)]
        materials "material": Materials,
        /// The dies, in the order in which they are placed.
        #[serde(default)]
        dies "die": Vec<Die>,
        /// The substrate that the dies or the interposer stand on.
        substrate: Option<Substrate>,
        /// An interposer between dies and substrate.
        interposer: Option<Interposer>,
        /// The balls between substrate and board.
        balls: Option<Balls>,
        /// The board that the package is mounted on.
        board: Option<Board>,
        /// Bare die, stiffener ring or lid. Left out: bare.
        form: Option<Form>,
        /// Thermal interfaces, from the die upward.
        #[serde(default)]
        interfaces "interface": Vec<Interface>,
        /// Power of dies or blocks over time.
        power_trace: Option<PowerTrace>,
        /// Reflow, clean, underfill and cure.
        process: Option<Process>,
        /// Where the package works: ambient, air, heat sink.
        environment: Option<Environment>,
        /// What it must survive in service.
        mission: Option<Mission>,
        /// How it is to be shown good.
        qualification: Option<Qualification>,
        /// Prices and yields of wafers and steps.
        prices "cost": Option<Prices>,
        /// The figures that must be met.
        #[serde(default)]
        requirements "requirement": Vec<Requirement>,
        /// The same design in other forms, to be set side by side.
        #[serde(default)]
        variants "variant": Vec<Variant>,
        => loaded {
            /// Where each value stands in its file.
            #[serde(skip)]
            places: Places,
            /// True when something written could not be taken over, so that what is absent may only be misspelt.
            #[serde(skip)]
            incomplete: bool,
        }
    }
}

record! {
    /// Name and nature of the design.
    pub struct Heading: "the table [design]" {
        /// Short name in lower case, used for the output folder.
        name: crate::values::Name,
        /// One line that says what it is.
        title: Option<String>,
        /// Where its numbers come from: `invented`, or a source in words.
        data: Option<String>,
        /// What a written tolerance means. Left out: 3 sigma.
        spread: Option<Spread>,
    }
}

impl Design {
    /// What a tolerance means in this design.
    pub fn spread(&self) -> Spread {
        self.heading.spread.unwrap_or_default()
    }

    /// The form, bare where none is written.
    pub fn form(&self) -> Form {
        self.form.clone().unwrap_or(Form::Bare)
    }

    /// The die of that name, with its index.
    pub fn die(&self, name: &str) -> Option<(usize, &Die)> {
        self.dies.iter().enumerate().find(|(_, d)| d.name.as_str() == name)
    }
}
