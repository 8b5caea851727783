//! The few shapes that a picture is made of, written as SVG.
//!
//! White ground and dark ink, so that it reads the same on paper and on a screen; what differs in colour
//! differs in lightness too, and prints in grey.

use std::fmt::Write;

/// Ink of texts and axes.
pub(crate) const INK: &str = "#1c2733";
/// Ink of grid lines.
pub(crate) const FAINT: &str = "#d9dee4";

/// Where a text is held.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Hold {
    /// At its start.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// A picture in the making.
#[derive(Debug)]
pub(crate) struct Drawing {
    text: String,
}

impl Drawing {
    /// A white sheet of this size.
    pub(crate) fn new(width: f64, height: f64) -> Self {
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
             height=\"{height}\" font-family=\"'DejaVu Sans', Verdana, Arial, sans-serif\">\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n"
        );
        Self { text }
    }

    /// The finished picture.
    pub(crate) fn finish(mut self) -> String {
        self.text.push_str("</svg>\n");
        self.text
    }

    /// A filled rectangle between two corners.
    pub(crate) fn area(&mut self, left: f64, top: f64, right: f64, bottom: f64, fill: &str) {
        let (width, height) = ((right - left).max(0.0), (bottom - top).max(0.0));
        self.put(format_args!(
            "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{fill}\"/>"
        ));
    }

    /// A straight line; `style` is further SVG attributes.
    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), ink: &str, width: f64, style: &str) {
        self.put(format_args!(
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"{ink}\" stroke-width=\"{width}\" {style}/>",
            from.0, from.1, to.0, to.1
        ));
    }

    /// Round dots of one size.
    pub(crate) fn dots(&mut self, places: &[(f64, f64)], ink: &str, size: f64, opacity: f64) {
        if places.is_empty() {
            return;
        }
        let mut path = String::new();
        for (x, y) in places {
            // Writing to a text cannot fail.
            let _ = write!(path, "M{x:.1} {y:.1}h0");
        }
        self.put(format_args!(
            "<path d=\"{path}\" stroke=\"{ink}\" stroke-width=\"{size}\" stroke-linecap=\"round\" \
             stroke-opacity=\"{opacity}\" fill=\"none\"/>"
        ));
    }

    /// A text.
    pub(crate) fn text(&mut self, (x, y): (f64, f64), size: f64, hold: Hold, style: &str, words: &str) {
        let hold = match hold {
            Hold::Start => "start",
            Hold::Middle => "middle",
            Hold::End => "end",
        };
        let words = escaped(words);
        self.put(format_args!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" text-anchor=\"{hold}\" fill=\"{INK}\" {style}>{words}</text>"
        ));
    }

    fn put(&mut self, shape: std::fmt::Arguments<'_>) {
        let _ = writeln!(self.text, "{shape}");
    }
}

/// A text with the letters that SVG reserves written in its own way; control letters become spaces.
fn escaped(words: &str) -> String {
    let mut text = String::new();
    for letter in words.chars() {
        match letter {
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '>' => text.push_str("&gt;"),
            letter if letter.is_control() => text.push(' '),
            letter => text.push(letter),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_engine_may_be_named_with_any_letters() {
        assert_eq!(escaped("Pump <1> & \"2\"\n"), "Pump &lt;1&gt; &amp; \"2\" ");
    }
}
