//! The tables of the demonstration designs, from a few invented rules.

use std::fmt::Write;

/// Every table by its path under `demos/`.
pub fn all() -> Vec<(&'static str, String)> {
    vec![
        ("tidewatch/pads.csv", tidewatch_pads()),
        ("tidewatch/water.csv", tidewatch_water()),
        ("harborlight/pads.csv", harborlight_pads()),
        ("harborlight/power.csv", harborlight_power()),
        ("breakwater/clock-pads.csv", clock_pads()),
    ]
}

const INVENTED: &str = "# Invented data of a demonstration design.\n";

/// Names of the 294 signal nets of the buoy-telemetry controller.
fn tidewatch_signals() -> Vec<String> {
    let mut nets = Vec::new();
    let mut bus = |name: &str, count: usize| (0..count).for_each(|i| nets.push(format!("{name}{i}")));
    bus("MEM_D", 32);
    bus("MEM_A", 23);
    bus("MEM_BE", 4);
    bus("AIN_P", 16);
    bus("AIN_N", 16);
    bus("SONAR_TX", 8);
    bus("SONAR_RX", 16);
    bus("GPIO", 64);
    bus("RADIO_I", 10);
    bus("RADIO_Q", 10);
    bus("WAVE_D", 8);
    bus("WAKE", 4);
    bus("BOOT", 3);
    bus("TRACE_D", 8);
    for port in 0..6 {
        nets.extend(["TX", "RX", "RTS", "CTS"].map(|s| format!("UART{port}_{s}")));
    }
    for port in 0..4 {
        nets.extend(["SCK", "MOSI", "MISO", "CS0", "CS1"].map(|s| format!("SPI{port}_{s}")));
        nets.extend(["SCL", "SDA"].map(|s| format!("I2C{port}_{s}")));
    }
    let single = "MEM_CE0 MEM_CE1 MEM_OE MEM_WE MEM_CLK MEM_WAIT CAN0_TX CAN0_RX CAN1_TX CAN1_RX RADIO_CLK RADIO_EN \
                  SAT_TX SAT_RX SAT_EN WAVE_CLK TCK TMS TDI TDO";
    nets.extend(single.split_whitespace().map(str::to_owned));
    assert_eq!(nets.len(), 294);
    nets
}

/// 390 wire-bond pads in two staggered rows along all four sides, openings 60 x 60 um: 96 supply pads spread
/// evenly among 294 signals.
fn tidewatch_pads() -> String {
    let (width, height, step) = (7200.0, 6400.0, 130.0);
    let (outer, inner) = (70.0, 180.0);
    // Along a side, pads alternate between the outer and the inner row, half a step apart.
    let along = |count: usize, length: f64| -> Vec<f64> {
        let span = (count - 1) as f64 * step / 2.0;
        (0..count).map(|i| (length - span) / 2.0 + i as f64 * step / 2.0).collect()
    };
    let depth = |i: usize| if i.is_multiple_of(2) { outer } else { inner };
    let mut places = Vec::new();
    // Counter-clockwise from the lower left: bottom, right, top, left.
    for (i, x) in along(103, width).into_iter().enumerate() {
        places.push((x, depth(i)));
    }
    for (i, y) in along(92, height).into_iter().enumerate() {
        places.push((width - depth(i), y));
    }
    for (i, x) in along(103, width).into_iter().rev().enumerate() {
        places.push((x, height - depth(i)));
    }
    for (i, y) in along(92, height).into_iter().rev().enumerate() {
        places.push((depth(i), y));
    }
    let supplies = [
        ("VSS", "ground", 40usize),
        ("VDD_CORE", "supply", 24),
        ("VDD_IO", "supply", 22),
        ("VDD_ANA", "supply", 10),
    ];
    let count = places.len();
    let mut nets: Vec<Option<(&str, &str)>> = vec![None; count];
    for (kind, (net, class, pads)) in supplies.iter().enumerate() {
        for i in 0..*pads {
            // Evenly round the ring, each supply starting a little further on; the next free pad is taken.
            let mut at = (i * count / pads + 2 * kind + 1) % count;
            while nets[at].is_some() {
                at = (at + 1) % count;
            }
            nets[at] = Some((net, class));
        }
    }
    let mut signals = tidewatch_signals().into_iter();
    let mut out = format!("{INVENTED}name,net,x (um),y (um),width (um),height (um),class\n");
    for (i, ((x, y), net)) in places.iter().zip(nets).enumerate() {
        let (net, class) = match net {
            Some((net, class)) => (net.to_owned(), class),
            None => (signals.next().expect("294 pads are left for 294 signals"), "signal"),
        };
        let _ = writeln!(out, "P{},{net},{x},{y},60,60,{class}", i + 1);
    }
    assert!(signals.next().is_none());
    out
}

/// A week of temperatures beside the controller, hour by hour: coldest at five in the morning, warmest at two in the
/// afternoon, straight lines between, and a cloud before noon on some days. Tenths of a degree in whole numbers.
fn tidewatch_water() -> String {
    let days: [(i32, i32, i32); 7] = [
        (-10, 310, 0),
        (20, 380, 60),
        (40, 440, 0),
        (60, 450, 30),
        (30, 290, 80),
        (-30, 220, 0),
        (-50, 270, 40),
    ];
    let mut out = format!("{INVENTED}time (h),temperature (degC)\n");
    for hour in 0..=168_i32 {
        let (day, of_day) = ((hour / 24) as usize, hour % 24);
        let (low, high, cloud) = days[day % 7];
        let tenths = match of_day {
            0..5 => {
                let evening = days[(day + 6) % 7].1;
                evening + (low - evening) * (of_day + 10) / 15
            }
            5..14 => low + (high - low) * (of_day - 5) / 9 - if of_day == 11 { cloud } else { 0 },
            _ => {
                let morning = days[(day + 1) % 7].0;
                high + (morning - high) * (of_day - 14) / 15
            }
        };
        let sign = if tenths < 0 { "-" } else { "" };
        let _ = writeln!(out, "{hour},{sign}{}.{}", tenths.abs() / 10, tenths.abs() % 10);
    }
    out
}

/// Letters of array rows, without those that are misread (JEP95).
fn row_name(row: usize) -> String {
    let letters: Vec<char> = "ABCDEFGHJKLMNPRTUVWY".chars().collect();
    if row < 20 {
        letters[row].to_string()
    } else {
        format!("{}{}", letters[row / 20 - 1], letters[row % 20])
    }
}

/// Pads of the lidar processor, drawn under the bumps: 104 columns x 91 rows at 150 um, corner blocks of 10 x 10
/// left out. The core carries supplies in a chequered pattern, the outer eight rows the signals.
fn harborlight_pads() -> String {
    let (columns, rows, pitch) = (104usize, 91usize, 150.0);
    let (x0, y0) = ((16000.0 - 103.0 * pitch) / 2.0, (14000.0 + 90.0 * pitch) / 2.0);
    let mut out = format!("{INVENTED}name,net,x (um),y (um),width (um),height (um)\n");
    let mut signal = 0;
    for row in 0..rows {
        for column in 0..columns {
            let (from_x, from_y) = (column.min(columns - 1 - column), row.min(rows - 1 - row));
            if from_x < 10 && from_y < 10 {
                continue;
            }
            let name = format!("{}{}", row_name(row), column + 1);
            let outer = from_x.min(from_y) < 8;
            let net = match (outer, (row + column) % 2, (row / 2 + column) % 4) {
                (true, 0, _) => {
                    signal += 1;
                    format!("D{signal}")
                }
                (true, _, 0) => "VDD_IO".into(),
                (true, _, _) => "VSS".into(),
                (false, 0, _) => "VSS".into(),
                (false, _, 0) => "VDD_LASER".into(),
                (false, _, _) => "VDD_CORE".into(),
            };
            let (x, y) = (x0 + column as f64 * pitch, y0 - row as f64 * pitch);
            let _ = writeln!(out, "{name},{net},{x},{y},45,45");
        }
    }
    out
}

/// Power of the lidar processor by block, 60 W in all.
fn harborlight_power() -> String {
    let blocks = [
        ("receiver west", 0, 0, 2600, 14000, 6.0),
        ("receiver east", 13400, 0, 2600, 14000, 6.0),
        ("timing", 2600, 0, 10800, 2400, 5.0),
        ("correlator 0", 2600, 2400, 5400, 5200, 14.0),
        ("correlator 1", 8000, 2400, 5400, 5200, 14.0),
        ("processor", 2600, 7600, 6400, 6400, 9.0),
        ("memory", 9000, 7600, 4400, 6400, 6.0),
    ];
    let mut out = format!("{INVENTED}name,x (um),y (um),width (um),height (um),power (W)\n");
    for (name, x, y, width, height, power) in blocks {
        let _ = writeln!(out, "{name},{x},{y},{width},{height},{power}");
    }
    out
}

/// Pads of the small clock die that stands on a logic die in the stacked variant of the module.
fn clock_pads() -> String {
    let mut out = format!("{INVENTED}name,net,x (um),y (um),width (um),height (um),class\n");
    let nets = [
        "VSS", "VDD", "CK_IN_P", "CK_IN_N", "CK0_P", "CK0_N", "CK1_P", "CK1_N", "CK2_P", "CK2_N", "LOCK",
        "SYNC",
    ];
    for side in 0..4 {
        for (i, word) in nets.into_iter().enumerate() {
            let along = 260.0 + i as f64 * 120.0;
            let (x, y) = match side {
                0 => (along, 80.0),
                1 => (1760.0, along),
                2 => (1840.0 - along, 1760.0),
                _ => (80.0, 1840.0 - along),
            };
            let (net, class) = match word {
                "VSS" => (word.to_owned(), "ground"),
                "VDD" => (word.to_owned(), "supply"),
                _ => (format!("{word}_{side}"), "signal"),
            };
            let _ = writeln!(out, "K{},{net},{x},{y},70,70,{class}", side * 12 + i + 1);
        }
    }
    out
}
