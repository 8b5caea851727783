//! The pictures as they were last looked at, pixel by pixel; `KEYWAY_GOLDENS=write` takes the new ones.

use std::path::{Path, PathBuf};

use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::OriginDimensions;
use embedded_graphics_simulator::SimulatorDisplay;
use keyway::screens::{image, picture, samples, write_all};

fn goldens() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("goldens")
}

/// Whether the golden pictures are being taken anew.
fn writing() -> bool {
    std::env::var("KEYWAY_GOLDENS").is_ok_and(|what| what == "write")
}

#[test]
fn every_screen_looks_as_it_did_when_it_was_last_looked_at() {
    if writing() {
        write_all(&goldens()).expect("the goldens can be written");
        return;
    }
    let mut wrong = Vec::new();
    for sample in samples() {
        let path = goldens().join(sample.name).with_extension("png");
        let Ok(golden) = SimulatorDisplay::<BinaryColor>::load_png(&path) else {
            wrong.push(format!("{}: no golden picture", sample.name));
            continue;
        };
        let now = picture(&sample.view);
        assert_eq!(golden.size(), now.size(), "{}", sample.name);
        let differ = |y: i32| {
            // The files are dark ink on a bright ground, so that a set pixel of the file is paper.
            (0..400)
                .filter(|x| golden.get_pixel(Point::new(*x, y)) == now.get_pixel(Point::new(*x, y)))
                .count()
        };
        let pixels: usize = (0..240).map(differ).sum();
        if pixels > 0 {
            let seen = std::env::temp_dir().join(format!("keyway-{}.png", sample.name));
            image(&sample.view).save_png(&seen).expect("a picture can be written");
            wrong.push(format!("{}: {pixels} pixels differ, see {}", sample.name, seen.display()));
        }
    }
    assert!(wrong.is_empty(), "{}\nLook at them; KEYWAY_GOLDENS=write takes them.", wrong.join("\n"));
}

#[test]
fn every_golden_picture_belongs_to_a_screen() {
    if writing() {
        return;
    }
    let names: Vec<_> = samples().iter().map(|sample| format!("{}.png", sample.name)).collect();
    let mut files = 0;
    for entry in std::fs::read_dir(goldens()).expect("the goldens are there") {
        let name = entry.expect("can be read").file_name().into_string().expect("a plain name");
        files += 1;
        assert!(names.contains(&name), "{name} belongs to no screen");
    }
    assert_eq!(files, names.len());
}

#[test]
fn no_two_screens_share_a_name_or_a_picture() {
    let all = samples();
    for (index, one) in all.iter().enumerate() {
        for two in all.iter().skip(index + 1) {
            assert_ne!(one.name, two.name);
            assert!(picture(&one.view).diff(&picture(&two.view)).is_some(), "{} is {}", one.name, two.name);
        }
    }
}

#[test]
fn the_frame_in_memory_shows_the_same_pixels_as_the_desktop() {
    use keyway_core::panel::{draw, frame::Frame};
    for sample in samples() {
        let mut frame = Frame::new();
        let Ok(()) = draw(&sample.view, &mut frame);
        let desktop = picture(&sample.view);
        for y in 0..240 {
            for x in 0..400 {
                let pixel = desktop.get_pixel(Point::new(x, y));
                assert_eq!(frame.pixel(x as u32, y as u32), Some(pixel), "{}: {x},{y}", sample.name);
            }
        }
    }
}
