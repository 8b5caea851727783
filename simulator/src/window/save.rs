//! What a trainer keeps: the last minute as a capture with its job, and the window as a picture; a capture is read
//! again by the same way as `keyway read`.

use super::stage::Stage;
use crate::capture::{Format, Names};
use crate::{job_file, make, read};
use eframe::egui::ColorImage;
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

/// The first name that is free, "NAME-1.ENDING" and on.
fn free(folder: &Path, name: &str, ending: &str) -> PathBuf {
    let plain: String = name
        .to_lowercase()
        .chars()
        .map(|letter| if letter.is_alphanumeric() { letter } else { '-' })
        .collect();
    let numbered = |number: u32| folder.join(format!("{plain}-{number}.{ending}"));
    (1..10_000).map(numbered).find(|path| !path.exists()).unwrap_or_else(|| numbered(0))
}

/// Keeps the tape in a folder; gives the capture's path.
///
/// # Errors
/// One line: nothing came through the pickups, or a file cannot be written.
pub(super) fn capture(stage: &Stage, folder: &Path) -> Result<PathBuf, String> {
    let nothing = "Nothing came through the clips yet: there is nothing to keep.";
    let record = stage.bench().tape().and_then(crate::guide_play::Tape::record).ok_or(nothing)?;
    let path = free(folder, &stage.job().name, "vcd");
    let failed =
        |path: &Path, error: std::io::Error| format!("{}: cannot be written ({error})", path.display());
    let file = File::create(&path).map_err(|error| failed(&path, error))?;
    make::write_capture(BufWriter::new(file), &record).map_err(|error| failed(&path, error))?;
    let job = path.with_extension("job.toml");
    let mut spec = stage.job().clone();
    // What holds while it was recorded is what the technician would say: only what stands at the end.
    spec.base_mode = Some(stage.controls().base_mode || stage.controls().hold_fixed);
    std::fs::write(&job, job_file::write::text(&spec)).map_err(|error| failed(&job, error))?;
    Ok(path)
}

/// Reads a capture that was kept, with the job beside it, as `keyway read` tells it.
///
/// # Errors
/// One line: what cannot be read, and what was expected.
pub(super) fn open(path: &Path) -> Result<String, String> {
    let job_path = path.with_extension("job.toml");
    let text = std::fs::read_to_string(&job_path)
        .map_err(|error| format!("{}: cannot be read ({error})", job_path.display()))?;
    let job = job_file::read::job(&text)
        .map_err(|error| error.in_file(&job_path.display().to_string()).to_string())?;
    let file = File::open(path).map_err(|error| format!("{}: cannot be read ({error})", path.display()))?;
    let outcome = read::measure(BufReader::new(file), Format::Vcd, &Names::default(), &job, None)
        .map_err(|error| error.in_file(&path.display().to_string()).to_string())?;
    Ok(read::to_text(&job, &outcome))
}

/// The captures in a folder that have a job beside them, the newest first.
pub(super) fn captures(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found: Vec<_> = entries
        .filter_map(|entry| Some((entry.metadata().ok()?.modified().ok()?, entry.path())))
        .filter(|(_, path)| path.extension().is_some_and(|ending| ending == "vcd"))
        .filter(|(_, path)| path.with_extension("job.toml").exists())
        .collect();
    found.sort();
    found.into_iter().rev().map(|(_, path)| path).collect()
}

/// Keeps a picture of the window; gives its path.
///
/// # Errors
/// One line: the file cannot be written.
pub(super) fn picture(image: &ColorImage, folder: &Path) -> Result<PathBuf, String> {
    let path = free(folder, "keyway window", "png");
    let [width, height] = image.size.map(|side| side as u32);
    let bytes: Vec<u8> = image.pixels.iter().flat_map(|pixel| [pixel.r(), pixel.g(), pixel.b()]).collect();
    image::save_buffer(&path, &bytes, width, height, image::ColorType::Rgb8)
        .map_err(|error| format!("{}: cannot be written ({error})", path.display()))?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_minute_is_kept_and_reads_as_the_bench_stood() {
        let folder = std::env::temp_dir().join(format!("keyway-bench-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let mut stage = Stage::new().unwrap();
        stage.controls_mut().base_mode = true;
        for _ in 0..900 {
            stage.go_on(0.1);
        }
        let path = capture(&stage, &folder).unwrap();
        let text = open(&path).unwrap();
        assert_eq!(captures(&folder), vec![path]);
        let base = stage.bench().engine.base_advance();
        let said = format!("{}", keyway_core::words::Btdc(base as f32));
        // To the half degree: the reading carries its own scatter.
        let degrees: f64 =
            text.split("reads ").nth(1).and_then(|rest| rest.split('°').next()).unwrap().parse().unwrap();
        assert!((degrees - base.abs()).abs() < 0.5, "{said}: {text}");
        let seconds = stage.bench().tape().unwrap().record().unwrap().length as f64 * 1e-9;
        assert!((seconds - super::super::stage::TAPE).abs() < 0.5, "{seconds} s");
        let first = std::fs::read_to_string(folder.join("weir-pump-six-1.job.toml")).unwrap();
        assert!(first.contains("Weir pump six"));
        std::fs::remove_dir_all(folder).unwrap();
    }
}
