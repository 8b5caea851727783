//! Times `keyway read` on a ten-minute capture of a 60-2 wheel, beside a plain Python script with numpy
//! and the PyPI package vcdvcd that does the same sums: `cargo bench -p keyway-benches --bench read_speed`.
//!
//! Both are whole processes, started, timed and ended; the best of several runs counts. Ours is this very
//! program, which given arguments does what `keyway` does with them. Peak memory is
//! the resident high-water mark that Linux keeps for a process, asked for every millisecond. Where Python
//! or one of its packages is missing, that half is left out and the output says so.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

const RUNS: usize = 5;
const JOB: &str = "\
name = \"Sluice six\"
[engine]
cylinders = 6
firing_order = [1, 5, 3, 6, 2, 4]
spark = \"distributor\"
rotor = \"clockwise\"
[timing]
control = \"computer\"
base_btdc = 8.5
calibration = \"stock\"
extra = 0.0
tolerance = 1.0
harness_offset = 10.0
idle_rpm = [600, 900]
[crank]
teeth = 60
missing = 2
first_edge_btdc = 120.0
active_edge = \"rising\"
[spark_pickup]
active_edge = \"rising\"
";

/// What one process took.
struct Cost {
    seconds: f64,
    /// Kilobytes; `None` where the system does not tell.
    peak: Option<u64>,
    out: String,
}

fn main() -> io::Result<ExitCode> {
    let mut given = std::env::args_os().skip(1);
    if given.next().is_some_and(|word| word == "read") {
        let status = keyway::command::run(std::env::args_os(), &mut io::stdout(), &mut io::stderr());
        return Ok(ExitCode::from(status));
    }
    compare()?;
    Ok(ExitCode::SUCCESS)
}

fn compare() -> io::Result<()> {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let job = folder.join("bench.job.toml");
    fs::write(&job, JOB)?;
    let long = capture(&folder.join("ten-minutes.vcd"), 600.0)?;
    let short = capture(&folder.join("one-minute.vcd"), 60.0)?;
    let megabytes = fs::metadata(&long)?.len() as f64 / 1e6;
    println!("ten minutes of a 60-2 wheel at 700 rpm: {megabytes:.1} MB");

    let keyway = std::env::current_exe()?;
    let read = |file: &Path| {
        let mut command = Command::new(&keyway);
        command.arg("read").arg(file).arg("--job").arg(&job).arg("--json");
        best(&mut command)
    };
    let ours = read(&long)?;
    let of_short = read(&short)?;
    println!(
        "keyway read:  {:.3} s, {:.0} MB/s, peak {}",
        ours.seconds,
        megabytes / ours.seconds,
        shown(ours.peak)
    );
    println!("  one minute: {:.3} s, peak {}", of_short.seconds, shown(of_short.peak));
    for key in ["advance_btdc_deg", "rpm", "sparks_used"] {
        let line = ours.out.lines().find(|line| line.contains(&format!("\"{key}\"")));
        println!("  {}", line.unwrap_or("the result lacks a number").trim());
    }

    let python = ["python3", "python"].into_iter().find(|python| has_packages(python));
    let Some(python) = python else {
        println!(
            "python: left out, since no Python with numpy and vcdvcd was found (pip install numpy vcdvcd)"
        );
        return Ok(());
    };
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("read_capture.py");
    let mut command = Command::new(python);
    command.arg(script).arg(&long).args(["60", "2", "120"]);
    let theirs = best(&mut command)?;
    println!(
        "python:       {:.3} s, {:.0} MB/s, peak {}",
        theirs.seconds,
        megabytes / theirs.seconds,
        shown(theirs.peak)
    );
    println!("  median advance, rpm, sparks: {}", theirs.out.trim());
    println!("keyway read is {:.1} times as fast", theirs.seconds / ours.seconds);
    Ok(())
}

fn shown(peak: Option<u64>) -> String {
    peak.map_or("unknown here".into(), |kilobytes| format!("{:.1} MB", kilobytes as f64 / 1e3))
}

fn has_packages(python: &str) -> bool {
    let probe = Command::new(python).args(["-c", "import numpy, vcdvcd"]).stderr(Stdio::null()).status();
    probe.is_ok_and(|status| status.success())
}

/// The fastest of several runs, with the largest memory of any.
fn best(command: &mut Command) -> io::Result<Cost> {
    let mut best: Option<Cost> = None;
    for _ in 0..RUNS {
        let cost = run(command)?;
        best = Some(match best {
            Some(best) if best.seconds <= cost.seconds => Cost { peak: best.peak.max(cost.peak), ..best },
            Some(best) => Cost { peak: best.peak.max(cost.peak), ..cost },
            None => cost,
        });
    }
    best.ok_or_else(|| io::Error::other("no run"))
}

fn run(command: &mut Command) -> io::Result<Cost> {
    let start = Instant::now();
    let mut child = command.stdout(Stdio::piped()).spawn()?;
    let status = PathBuf::from(format!("/proc/{}/status", child.id()));
    let mut peak = None;
    while child.try_wait()?.is_none() {
        peak = peak.max(high_water(&status));
        std::thread::sleep(Duration::from_millis(1));
    }
    let seconds = start.elapsed().as_secs_f64();
    let output = child.wait_with_output()?;
    if output.stdout.is_empty() {
        return Err(io::Error::other(format!("{command:?} gave no result")));
    }
    Ok(Cost { seconds, peak, out: String::from_utf8_lossy(&output.stdout).into_owned() })
}

fn high_water(status: &Path) -> Option<u64> {
    let text = fs::read_to_string(status).ok()?;
    let line = text.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// Writes a capture of so many seconds: 700 rpm with a wander, the spark 8.5° before top dead centre.
fn capture(path: &Path, seconds: f64) -> io::Result<PathBuf> {
    let mut out = BufWriter::new(File::create(path)?);
    writeln!(out, "$timescale 100 ns $end\n$scope module bench $end")?;
    writeln!(
        out,
        "$var wire 1 ! crank $end\n$var wire 1 \" spark1 $end\n$upscope $end\n$enddefinitions $end"
    )?;
    writeln!(out, "#0\n$dumpvars\n0!\n0\"\n$end")?;
    let (mut time, mut slot, mut spark_off) = (10_000.0, 0u32, None);
    while time < seconds * 1e7 {
        let speed = 700.0 + 6.0 * (time * 2e-7).sin() + 4.0 * (f64::from(slot % 20) * 0.314).sin();
        let step = 1e7 / (6.0 * speed);
        if let Some(at) = spark_off.take_if(|at| *at < time) {
            writeln!(out, "#{at:.0}\n0\"")?;
        }
        // A slot of 6° is a rise, 3° high, 3° low; the last two of a turn are missing.
        if slot % 60 < 58 {
            writeln!(out, "#{:.0}\n1!\n#{:.0}\n0!", time, time + 3.0 * step)?;
        }
        if slot % 120 == 18 {
            // Behind the tooth's fall; its pulse ends before the next rise.
            let at = time + 3.5 * step;
            writeln!(out, "#{at:.0}\n1\"")?;
            spark_off = Some(at + 4000.0);
        }
        time += 6.0 * step;
        slot += 1;
    }
    out.flush()?;
    Ok(path.to_owned())
}
