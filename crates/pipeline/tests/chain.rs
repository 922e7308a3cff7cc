//! Random designs through the whole chain: whatever is asked, every figure is a number, every study has a verdict or says
//! why not, and nothing panics.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_package::{Memory, read_and_check};
use facedown_pipeline::{Cache, Control, Depth, Run, requirements::judgements, studies};
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

/// A small package; lengths in um, temperatures in degC.
#[derive(Debug, Clone)]
struct Draw {
    die: [u32; 3],
    pitch: u32,
    pillar: bool,
    core: u32,
    copper: u32,
    form: u8,
    angle: u32,
    peak: u32,
    cure: u32,
    underfill: bool,
    power: f64,
    ambient: i32,
    cycle: [i32; 2],
    dwell: u32,
    life: f64,
    more: More,
}

/// What a design may say beyond the least.
#[derive(Debug, Clone)]
struct More {
    /// Characteristic strength, MPa, and Weibull shape of back and edges.
    strength: Option<(u32, f64)>,
    /// Received bow, um.
    bow: Option<i32>,
    humidity: Option<u32>,
    /// Temperatures of substrate and board at the hot end, K above the cold one.
    below: Option<[i32; 2]>,
    stress_free: Option<u32>,
    crept: Option<u32>,
    dispersive: Option<u32>,
    contact: Option<f64>,
    redistributed: bool,
    /// Hours to the next row and degC, with the gate in K.
    record: Option<(Vec<(f64, f64)>, u32)>,
    /// Cycles at which packages of a finished test failed, and that others have seen.
    test: Option<(Vec<u32>, Vec<u32>)>,
    /// Whether the core is a material of the design that says nothing of its expansion.
    no_expansion: bool,
}

fn more() -> impl Strategy<Value = More> {
    use proptest::option::of;
    let rows = proptest::collection::vec((0.0..40.0_f64, -60.0..130.0_f64), 1..40);
    let first = (
        of((1_u32..2000, 0.4..50.0_f64)),
        of(-900_i32..900),
        of(0_u32..=110),
        of((-5_i32..120, -5_i32..120).prop_map(|(a, b)| [a, b])),
        of(0_u32..310),
        of(0_u32..=100),
    );
    let cycles = || proptest::collection::vec(1_u32..5000, 0..12);
    let second = (
        of(0_u32..=100),
        of(0.0..1e-6_f64),
        any::<bool>(),
        of((rows, 0_u32..30)),
        of((cycles(), cycles())),
        proptest::bool::weighted(0.1),
    );
    (first, second).prop_map(|(a, b)| More {
        strength: a.0,
        bow: a.1,
        humidity: a.2,
        below: a.3,
        stress_free: a.4,
        crept: a.5,
        dispersive: b.0,
        contact: b.1,
        redistributed: b.2,
        record: b.3,
        test: b.4,
        no_expansion: b.5,
    })
}

/// The record as its table; its times rise, and a row may stand at the time of the one before it.
fn record(d: &Draw) -> String {
    let mut text = String::from("time (h),temperature (degC)\n");
    let mut time = 0.0;
    for (hours, celsius) in d.more.record.iter().flat_map(|r| &r.0) {
        time += hours.floor();
        text += &format!("{time},{celsius:.2}\n");
    }
    text
}

fn files(d: &Draw) -> Memory {
    Memory::default().with("design.toml", text(d)).with("record.csv", record(d))
}

fn draw() -> impl Strategy<Value = Draw> {
    let parts = (
        (1000_u32..4000, 1000_u32..4000, 50_u32..800).prop_map(|(w, h, t)| [w, h, t]),
        prop_oneof![Just(150_u32), Just(200), Just(250), Just(400)],
        any::<bool>(),
        60_u32..1200,
        0_u32..=100,
        0_u8..3,
        0_u32..150,
    );
    let process = (
        150_u32..280,
        60_u32..200,
        any::<bool>(),
        prop_oneof![Just(0.0), 0.01..20.0],
        -40_i32..90,
        (-60_i32..40, 41_i32..140).prop_map(|(a, b)| [a, b]),
        0_u32..600,
        prop_oneof![Just(0.0), 0.1..30.0],
    );
    (parts, process, more()).prop_map(|(a, b, more)| Draw {
        die: a.0,
        pitch: a.1,
        pillar: a.2,
        core: a.3,
        copper: a.4,
        form: a.5,
        angle: a.6,
        peak: b.0,
        cure: b.1,
        underfill: b.2,
        power: b.3,
        ambient: b.4,
        cycle: b.5,
        dwell: b.6,
        life: b.7,
        more,
    })
}

fn text(d: &Draw) -> String {
    let [w, h, t] = d.die;
    let technology = if d.pillar { "copper pillar" } else { "solder bump" };
    let mut text = format!(
        "[design]\nname = \"random\"\ndata = \"invented\"\n[[die]]\nname = \"a\"\nwidth = \"{w} um\"\nheight = \"{h} \
         um\"\nthickness = \"{t} um\"\npads = \"at bumps\"\npower = \"{} W\"\n[die.bumps]\ntechnology = \
         \"{technology}\"\npitch = \"{} um\"\n",
        d.power, d.pitch
    );
    // The lid's foot leaves the bond line that the interface asks for.
    let (height, bond, glue) = (4 * d.pitch / 10, 60, 100);
    let foot = (t + height + bond).saturating_sub(glue);
    text += &format!("height = \"{height} um\"\n");
    if let Some(contact) = d.more.contact {
        text += &format!("contact_resistance = \"{contact:e} ohm cm2\"\n");
    }
    text += "net_tile = [[\"VSS\", \"*\", \"VDD\"]]\nsignal_prefix = \"S_\"\n";
    text += "[[die.net]]\nname = \"VDD\"\nclass = \"supply\"\ncurrent = \"0.5 A\"\n";
    if let Some((strength, shape)) = d.more.strength {
        text += &format!(
            "[die.strength.back]\ncharacteristic = \"{strength} MPa\"\nshape = {shape}\narea = \"0.5 \
             cm2\"\n[die.strength.edge]\ncharacteristic = \"{strength} MPa +- 5 %\"\nshape = {shape}\nlength = \"10 mm\"\n"
        );
    }
    if d.more.redistributed {
        text += "[die.rdl]\nline = \"12 um\"\nspace = \"10 um\"\nthickness = \"4 um\"\n";
    }
    text += "[[die.ubm]]\nrole = \"adhesion\"\nmaterial = \"titanium\"\nthickness = \"0.1 um\"\n[[die.ubm]]\nrole = \
             \"wetting\"\nmaterial = \"copper\"\nthickness = \"5 um\"\n";
    text += &format!(
        "[substrate]\nwidth = \"9 mm\"\nheight = \"8 mm\"\n{2}[[substrate.layer]]\nmaterial = \"solder_mask\"\nthickness = \
         \"20 um\"\n[[substrate.layer]]\nmaterial = \"copper\"\nthickness = \"15 um\"\ncopper = \"{0} \
         %\"\n[[substrate.layer]]\nmaterial = \"{3}\"\nthickness = \"{1} um\"\n[[substrate.layer]]\nmaterial = \
         \"copper\"\nthickness = \"15 um\"\ncopper = \"{0} %\"\n[[substrate.layer]]\nmaterial = \
         \"solder_mask\"\nthickness = \"20 um\"\n[balls]\npitch = \"0.8 mm\"\ndiameter = \"0.45 mm\"\nsolder = \
         \"sac305\"\n",
        d.copper,
        d.core,
        d.more.bow.map_or_else(String::new, |bow| format!("received_bow = \"{bow} um +- 10 um\"\n")),
        if d.more.no_expansion { "own_core" } else { "bt_core" }
    );
    let ring_or_lid = |kind: &str, material: &str| {
        format!(
            "[form]\nkind = \"{kind}\"\nmaterial = \"{material}\"\nband = \"1 mm\"\nthickness = \"0.5 mm\"\nadhesive = \
             \"adhesive_silicone\"\nadhesive_thickness = \"{glue} um\"\n"
        )
    };
    text += &match d.form {
        0 => "[form]\nkind = \"bare\"\n".to_owned(),
        1 => ring_or_lid("ring", "stainless_430"),
        _ => {
            ring_or_lid("lid", "copper_lid")
                + &format!(
                    "foot_height = \"{foot} um\"\n[[interface]]\nname = \"tim\"\nbetween = [\"a\", \"lid\"]\nmaterial = \
                     \"tim_gel\"\nthickness = \"{bond} um\"\n"
                )
        }
    };
    text += &format!("[process.reflow]\npeak = \"{} degC\"\n", d.peak);
    if d.underfill {
        text += &format!(
            "[process.underfill]\nmaterial = \"underfill_capillary\"\ntemperature = \"90 degC\"\nangle_die = \"{0} \
             deg\"\nangle_substrate = \"{0} deg\"\nangle_bump = \"{0} deg\"\n{2}[process.cure]\n{3}{4}[[process.cure.step]]\ntemperature = \
             \"{1} degC\"\ntime = \"60 min\"\n",
            d.angle,
            d.cure,
            d.more.dispersive.map_or_else(String::new, |s| format!("dispersive_share = \"{s} %\"\n")),
            d.more.stress_free.map_or_else(String::new, |t| format!("stress_free = \"{t} degC\"\n")),
            d.more.crept.map_or_else(String::new, |s| format!("joints_crept = \"{s} %\"\n")),
        );
    }
    if d.more.no_expansion {
        text += "[material.own_core]\ntitle = \"core\"\nmade_of = \"laminate\"\nsource = \"invented\"\n\
                 [material.own_core.properties]\nmodulus = \"20 GPa\"\nconductivity = \"0.4 W/(m K)\"\n";
    }
    text += &format!("[environment]\nambient = \"{} degC\"\n", d.ambient);
    if let Some(humidity) = d.more.humidity {
        text += &format!("humidity = \"{humidity} %\"\n");
    }
    text += &format!("[mission]\nlife = \"{} year\"\n", d.life);
    if let Some((_, gate)) = &d.more.record {
        text += &format!("[mission.history]\ntable = \"record.csv\"\ngate = \"{gate} K\"\n");
    }
    text += &format!(
        "[[mission.cycle]]\nlow = \"{} degC\"\nhigh = \"{} degC\"\ncount = \"1000 cycles\"\ndwell = \"{} s\"\n",
        d.cycle[0], d.cycle[1], d.dwell
    );
    if let Some([substrate, board]) = d.more.below {
        let low = d.cycle[0];
        let (substrate, board) = (low + substrate, low + board);
        text += &format!(
            "substrate = [\"{low} degC\", \"{substrate} degC\"]\nboard = [\"{low} degC\", \"{board} degC\"]\n"
        );
    }
    if let Some((failures, running)) = &d.more.test {
        let list =
            |cycles: &[u32]| cycles.iter().map(|c| format!("\"{c} cycles\"")).collect::<Vec<_>>().join(", ");
        text += &format!(
            "[qualification.test]\nlow = \"-40 degC\"\nhigh = \"125 degC\"\ncycles_per_day = \"48 cycles\"\nfailures = \
             [{}]\nrunning = [{}]\n",
            list(failures),
            list(running)
        );
    }
    for figure in ["heat.junction_max", "warpage.warpage_room", "underfill.fill_time", "life.life_bumps"] {
        let limit = match figure {
            "heat.junction_max" => "\"125 degC\"",
            "warpage.warpage_room" => "\"100 um\"",
            "underfill.fill_time" => "\"60 s\"",
            _ => "\"10 year\"",
        };
        text += &format!("[[requirement]]\nfigure = \"{figure}\"\nmax = {limit}\n");
    }
    text
}

/// Runs a design by closed forms and holds it to what every design must keep; what was said on the way, in one text.
/// Nothing where the checks refused it, with their reasons.
fn kept(d: &Draw) -> Result<(Option<Run>, String), TestCaseError> {
    let files = files(d);
    let reading = read_and_check(&files, "design.toml");
    let found: Vec<String> = reading.findings.iter().map(|f| f.what.clone()).collect();
    let mut said = found.join("\n");
    if !reading.is_runnable() {
        prop_assert!(!reading.findings.is_empty());
        return Ok((None, said));
    }
    let design = reading.design.as_ref().unwrap();
    // The solver has random packages of its own; here the chain counts.
    let graph = studies::graph().unwrap().at_depth(Depth::ClosedForms);
    let run = graph.run(design, None, &Cache::none(), Control::silent());
    for study in run.studies() {
        let name = study.node.name;
        for figure in &study.figures {
            prop_assert!(figure.value.is_finite(), "{name}.{}", figure.name);
            if let Some([low, high]) = figure.between {
                prop_assert!(low <= figure.value && figure.value <= high, "{name}.{}", figure.name);
            }
            said += &format!("\n{name}.{}: {:?}", figure.name, figure.outside);
        }
        for part in &study.parts {
            said += &format!("\n{name}: {}\n{:?}", part.report.notes.join("\n"), part.report.limits);
        }
        said += &format!("\n{name}: {:?}", study.absent);
        let failed = run.failures().iter().any(|f| f.0 == name);
        let told = study.absent.is_some() || failed || !study.figures.is_empty();
        prop_assert!(told, "{name} says nothing");
    }
    for failure in run.failures() {
        let failed = format!("{failure:?}");
        prop_assert!(!failed.contains("NaN") && !failed.contains("inf"), "{failed}");
        said += &format!("\n{failed}");
    }
    for judged in judgements(design, &run) {
        prop_assert!(!judged.sentence.is_empty() && !judged.sentence.contains("NaN"), "{}", judged.sentence);
    }
    Ok((Some(run), said))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn every_design_ends_in_numbers_or_in_words(d in draw()) {
        kept(&d)?;
    }
}

/// A design that nothing is wrong with.
fn sound() -> Draw {
    Draw {
        die: [3000, 2500, 300],
        pitch: 250,
        pillar: false,
        core: 400,
        copper: 60,
        form: 0,
        angle: 25,
        peak: 245,
        cure: 150,
        underfill: true,
        power: 1.0,
        ambient: 40,
        cycle: [0, 80],
        dwell: 600,
        life: 10.0,
        more: More {
            strength: Some((400, 6.0)),
            bow: Some(-30),
            humidity: Some(60),
            below: Some([60, 50]),
            stress_free: Some(140),
            crept: Some(70),
            dispersive: Some(80),
            contact: Some(1e-8),
            redistributed: false,
            test: Some((vec![2000, 2600, 3100], vec![4000; 5])),
            no_expansion: false,
            record: Some((vec![(0.0, 10.0), (6.0, 45.0), (6.0, 10.0), (6.0, 30.0), (6.0, 10.0)], 3)),
        },
    }
}

#[test]
fn some_of_the_random_designs_run_through() {
    // A property that every design were refused before would hold for nothing.
    for form in 0..3 {
        let files = files(&Draw { form, ..sound() });
        let reading = read_and_check(&files, "design.toml");
        assert!(reading.is_runnable(), "{:?}", reading.findings);
        let run = studies::graph().unwrap().run(
            reading.design.as_ref().unwrap(),
            None,
            &Cache::none(),
            Control::silent(),
        );
        assert!(run.failures().is_empty(), "{:?}", run.failures());
        for study in ["warpage", "joints", "underfill", "heat", "life", "cost"] {
            assert!(!run.study(study).unwrap().figures.is_empty(), "{study}");
        }
    }
}

/// A change of the sound design, and words that must be said of it.
type Extreme = (&'static str, fn(&mut Draw), &'static [&'static str]);

#[test]
fn extreme_input_of_each_study_has_a_verdict_or_words() {
    let cases: [Extreme; 11] = [
        ("angles of 120 deg", |d| d.angle = 120, &["oes not fill"]),
        ("no underfill", |d| d.underfill = false, &["underfill: Some(NotInDesign("]),
        ("a peak below the liquidus", |d| d.peak = 200, &["does not melt"]),
        ("a material without expansion", |d| d.more.no_expansion = true, &["own_core", "expansion"]),
        (
            "a test without failures",
            |d| d.more.test = Some((vec![], vec![4000; 8])),
            &["No package failed in the finished test"],
        ),
        ("a test with one failure", |d| d.more.test = Some((vec![3000], vec![])), &["finished test"]),
        ("a test of nothing", |d| d.more.test = Some((vec![], vec![])), &["test"]),
        ("no dwell", |d| d.dwell = 0, &["life.life_bumps"]),
        ("no power", |d| d.power = 0.0, &["no power"]),
        ("no service", |d| d.life = 0.0, &["life"]),
        ("no metal", |d| d.copper = 0, &["warpage.warpage_room"]),
    ];
    let mut missing: Vec<String> = Vec::new();
    for (name, change, words) in cases {
        let mut d = sound();
        change(&mut d);
        let (_, said) = kept(&d).unwrap_or_else(|why| panic!("{name}: {why}"));
        let unsaid = words.iter().filter(|w| !said.contains(**w));
        missing.extend(unsaid.map(|w| format!("{name}: nothing about \"{w}\" in\n{said}")));
    }
    assert!(missing.is_empty(), "{}", missing.join("\n\n"));
}
