//! The record's code is read by a reader that is not ours (rqrr, a port of quirc), from the screen's pixels.

use embedded_graphics::geometry::Point;
use keyway::screens::{picture, samples};
use keyway_core::panel::code::{MOST_BYTES, text};
use keyway_core::view::{Screen, View};

fn read(view: &View) -> String {
    let display = picture(view);
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(400, 240, |x, y| {
        if display.get_pixel(Point::new(x as i32, y as i32)).is_on() { 0 } else { 255 }
    });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1, "one code is on the screen");
    let (_, content) = grids.first().expect("one").decode().expect("the code can be read");
    content
}

#[test]
fn a_phone_reads_the_record_from_the_screen() {
    let mut read_count = 0;
    for sample in samples() {
        let Screen::Record(record) = sample.view.screen else { continue };
        if !record.as_code {
            continue;
        }
        let content = read(&sample.view);
        assert_eq!(content, text(&record).as_str(), "{}", sample.name);
        assert!(content.len() <= MOST_BYTES, "{}: {} bytes", sample.name, content.len());
        assert!(content.contains(record.engine.as_str()));
        read_count += 1;
    }
    assert_eq!(read_count, 2);
}

#[test]
fn a_reversed_screen_keeps_the_code_dark_on_bright() {
    let mut sample = samples().into_iter().find(|sample| sample.name == "record-code").expect("is a sample");
    sample.view.inverted = true;
    assert!(read(&sample.view).starts_with("Keyway 128\nWeir pump six\n"));
}
