//! Writes the capture of the demonstration: `cargo run -p keyway --example demo_capture > simulator/demo/pump-six.vcd`.
//!
//! The pump house of the river works: a six-cylinder pump engine with a 36-1 wheel, whose distributor was
//! set to the mark on the wrong side of zero. Eight seconds of idle with base mode held, a short blip, and
//! idle again. The same seed always writes the same file. It is a source of edges, not an engine: speed
//! is a slow wander, a swing for each firing, and the blip.

use std::io::{self, BufWriter, Write};

/// What the spark really stands at, degrees before top dead centre: the label's 10, on the wrong side.
const ADVANCE: f64 = -10.15;
/// Scatter from spark to spark, degrees.
const SCATTER: f64 = 0.25;
/// How long the spark pickup's pulse is, µs.
const PULSE: f64 = 600.0;
/// Length of the capture, µs.
const LENGTH: f64 = 13.0e6;

/// Numbers that look random and are the same on every machine.
struct Noise(u64);

impl Noise {
    /// Evenly spread from 0 to 1.
    fn even(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// About normal: mean 0, standard deviation 1.
    fn bell(&mut self) -> f64 {
        (0..12).map(|_| self.even()).sum::<f64>() - 6.0
    }
}

/// Mean speed at a time, rpm: idle with a slow wander, and a blip at 8 s.
fn mean_speed(time: f64) -> f64 {
    let seconds = time / 1e6;
    let wander = 8.0 * (seconds * 1.9).sin() + 5.0 * (seconds * 4.3).sin();
    let blip = match seconds - 8.0 {
        since if since < 0.0 => 0.0,
        since if since < 0.8 => since / 0.8,
        since => (-(since - 0.8) / 0.7).exp(),
    };
    715.0 + wander + 950.0 * blip
}

fn main() -> io::Result<()> {
    let mut noise = Noise(0x5EED_CAFE);
    let mut events: Vec<(f64, String)> = Vec::new();
    let (mut time, mut degree) = (1500.0, 0u32);
    let mut next_advance = ADVANCE;
    while time < LENGTH {
        // Where the crank is, degrees after top dead centre of cylinder one's firing.
        let cycle = f64::from(degree % 720);
        let turn = degree % 360;
        let firing = (f64::from(degree % 120) - 30.0).to_radians() * 3.0;
        let speed = mean_speed(time) * (1.0 + 0.02 * firing.sin());
        let step = 1e6 / (6.0 * speed);
        // The first tooth after the gap passes 84° before top dead centre, the others 10° apart.
        let after_first = (turn + 84) % 360;
        if after_first % 5 == 0 && after_first < 350 {
            let level = u8::from(after_first % 10 == 0);
            events.push((time + noise.bell() * 2.0, format!("{level}!")));
        }
        let spark = (720.0 - next_advance) % 720.0;
        if (cycle..cycle + 1.0).contains(&spark) {
            let at = time + (spark - cycle) * step;
            events.push((at, "1\"".into()));
            events.push((at + PULSE, "0\"".into()));
            next_advance = ADVANCE + noise.bell() * SCATTER;
        }
        if degree % 2160 == 0 {
            events.push((time, format!("r{:.2} #", 13.9 + noise.bell() * 0.05)));
        }
        time += step;
        degree += 1;
    }
    events.sort_by(|one, other| one.0.total_cmp(&other.0));

    let mut out = BufWriter::new(io::stdout().lock());
    writeln!(out, "$comment Pump house, weir pump six, idle in base mode with one blip $end")?;
    writeln!(out, "$timescale 1 us $end\n$scope module pump_house $end")?;
    writeln!(out, "$var wire 1 ! crank $end\n$var wire 1 \" spark1 $end\n$var real 64 # battery_v $end")?;
    writeln!(out, "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0!\n0\"\nr13.90 #\n$end")?;
    let mut last = 0;
    for (at, change) in events {
        let at = at.round() as u64;
        if at != last {
            writeln!(out, "#{at}")?;
            last = at;
        }
        writeln!(out, "{change}")?;
    }
    out.flush()
}
