//! Advance against speed: the sweep that finds a fixed delay, and the curve of weights and vacuum.
//!
//! Points on axes with round figures, a thin line through those of a sweep; what was taken with the hose off is a solid square, with the
//! hose on a ring. A hollow post marks the speed that is still to be reached.

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::Primitive;
use embedded_graphics::primitives::{Circle, PrimitiveStyle};

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::geom::nearest;
use super::super::number::{Advance, Fixed};
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::Side;
use crate::view::{Curve, CurvePoint, Screen, Sweep};

/// Points of one curve.
type Points = [Option<CurvePoint>; 12];

/// Lines of the plot.
const PLOT: i32 = 124;
/// Columns of the figures beside the plot.
const BESIDE: i32 = 108;

/// From rpm and degrees to pixels.
struct Axes {
    /// Room of the points.
    room: Room,
    /// Highest speed, rpm.
    most_rpm: f32,
    /// Lowest and highest advance, degrees.
    low: f32,
    high: f32,
}

impl Axes {
    /// Axes with round ends that hold all points and the speed to reach.
    fn around(points: &[&Points], reach: f32, room: Room) -> Self {
        let mut most_rpm = if reach.is_finite() { reach.clamp(1000.0, 20_000.0) } else { 1000.0 };
        let (mut low, mut high) = (f32::MAX, f32::MIN);
        for point in points.iter().flat_map(|points| points.iter().flatten()) {
            most_rpm = most_rpm.max(point.rpm.clamp(0.0, 20_000.0));
            low = low.min(point.advance.clamp(-180.0, 180.0));
            high = high.max(point.advance.clamp(-180.0, 180.0));
        }
        if low > high {
            (low, high) = (0.0, 20.0);
        }
        let step = if high - low > 40.0 { 20.0 } else { 10.0 };
        let low = floor(low / step) * step;
        let high = (-floor(-high / step) * step).max(low + step);
        Self { room, most_rpm: -floor(-most_rpm / 1000.0) * 1000.0, low, high }
    }

    fn column(&self, rpm: f32) -> i32 {
        let share = (rpm / self.most_rpm).clamp(0.0, 1.0);
        self.room.left + nearest(share * (self.room.width - 1) as f32)
    }

    fn line(&self, advance: f32) -> i32 {
        let share = ((advance - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        self.room.bottom() - 1 - nearest(share * (self.room.height - 1) as f32)
    }
}

/// The lowest and the highest speed of the points.
fn ends(sets: &[&Points]) -> Option<(f32, f32)> {
    let speeds = sets.iter().flat_map(|set| set.iter().flatten()).map(|point| point.rpm);
    let speeds = speeds.filter(|rpm| rpm.is_finite());
    speeds.fold(None, |ends: Option<(f32, f32)>, rpm| {
        let (low, high) = ends.unwrap_or((rpm, rpm));
        Some((low.min(rpm), high.max(rpm)))
    })
}

/// The next whole number at or below.
fn floor(value: f32) -> f32 {
    let whole = value as i32 as f32;
    if whole > value { whole - 1.0 } else { whole }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn sweep(&mut self, sweep: &Sweep, screen: &Screen) -> Result<(), D::Error> {
        let beside = self.plot(&[&sweep.points], sweep.line, (sweep.rpm, sweep.reach), screen)?;
        let (head, rest) = beside.cut_top(24);
        let text = [Face::Text, Face::Small];
        self.words_centered("delay", head, &text, Side::Left)?;
        match sweep.delay_us {
            Some((delay, doubt)) => {
                let (figure, rest) = rest.cut_top(34);
                let delay = Fixed::whole(delay.clamp(-9999.0, 9999.0));
                let doubt = Fixed::whole(doubt.clamp(0.0, 9999.0));
                self.words_centered(delay, figure, &[Face::Large, Face::Text], Side::Left)?;
                self.words(format_args!("±{doubt} µs"), rest, &text, Side::Left)
            }
            None => self.words("needs a span of 1000 rpm", rest, &text, Side::Left),
        }
    }

    pub(super) fn curve(&mut self, curve: &Curve, screen: &Screen) -> Result<(), D::Error> {
        let sets = [&curve.hose_off, &curve.hose_on];
        let beside = self.plot(&sets, None, (curve.rpm, curve.reach), screen)?;
        let text = [Face::Text, Face::Small];
        let (head, rest) = beside.cut_top(56);
        if let Some(advance) = curve.advance {
            let (word, figure) = head.cut_bottom(24);
            let size = Fixed::tenths(advance.abs().min(180.0));
            let faces = [Face::Large, Face::Text];
            self.words_centered(format_args!("{size}°"), figure, &faces, Side::Left)?;
            self.words_centered(Advance(advance).word(), word, &text, Side::Left)?;
        }
        let (off, rest) = rest.cut_top(28);
        let (on, _) = rest.cut_top(28);
        for (room, ring, word) in [(off, false, "hose off"), (on, true, "hose on")] {
            let (sign, words) = room.cut_left(18);
            self.picture(sign, |canvas| canvas.dot(sign.center(), ring))?;
            self.words_centered(word, words, &text, Side::Left)?;
        }
        Ok(())
    }

    /// Axes, points and the line through them, the speed now and the one to reach, and the sentence; gives the room beside.
    fn plot(
        &mut self,
        sets: &[&Points],
        line: Option<(f32, f32)>,
        (rpm, reach): (Option<f32>, f32),
        screen: &Screen,
    ) -> Result<Room, D::Error> {
        let (upper, sentence) = MIDDLE.cut_top(PLOT);
        self.sentence(
            screen,
            Room::new(sentence.left, sentence.top + 2, sentence.width, sentence.height - 2),
        )?;
        let (beside, plot) = upper.cut_right(BESIDE);
        let (figures, plot) = plot.cut_left(60);
        let (foot, plot) = plot.cut_bottom(20);
        let points = Room::new(plot.left + 8, plot.top + 6, plot.width - 22, plot.height - 12);
        let axes = Axes::around(sets, reach, points);
        self.axis_figures(&axes, figures, foot)?;
        self.picture(plot, |canvas| {
            let (left, _) = plot.cut_left(2);
            let (bottom, _) = plot.cut_bottom(2);
            canvas.ink(left)?;
            canvas.ink(Room::new(bottom.left, bottom.top, bottom.width - 6, bottom.height))?;
            // The speed to reach: a hollow post; the speed now: a wedge on the axis.
            let post = axes.column(reach);
            canvas.frame(Room::new(post - 2, plot.top, 5, plot.height), 1)?;
            if let Some(rpm) = rpm {
                let at = axes.column(rpm);
                let foot = plot.bottom() - 3;
                canvas.triangle(
                    Point::new(at, foot - 9),
                    Point::new(at - 5, foot),
                    Point::new(at + 5, foot),
                )?;
            }
            if let (Some((at_rest, slope)), Some((from, to))) = (line, ends(sets)) {
                let at = |rpm: f32| Point::new(axes.column(rpm), axes.line(at_rest + slope * rpm / 1000.0));
                canvas.stroke(at(from), at(to), 1)?;
            }
            for (index, set) in (0..).zip(sets) {
                for point in set.iter().flatten() {
                    let at = Point::new(axes.column(point.rpm), axes.line(point.advance));
                    canvas.dot(at, index == 1)?;
                }
            }
            Ok(())
        })?;
        Ok(Room::new(beside.left + 2, beside.top, beside.width - 2, beside.height))
    }

    /// Lowest and highest advance with their words, and the speeds at the ends.
    fn axis_figures(&mut self, axes: &Axes, figures: Room, foot: Room) -> Result<(), D::Error> {
        let small = [Face::Small];
        let figures = Room::new(figures.left, figures.top, figures.width - 4, figures.height);
        let (high, rest) = figures.cut_top(40);
        let (low, _) = Room::new(rest.left, rest.top, rest.width, rest.height - 20).cut_bottom(40);
        for (degrees, room) in [(axes.high, high), (axes.low, low)] {
            let (figure, word) = room.cut_top(20);
            let size = Fixed::whole(degrees.abs());
            self.words_centered(format_args!("{size}°"), figure, &small, Side::Right)?;
            self.words_centered(Advance(degrees).word(), word, &small, Side::Right)?;
        }
        let (end, start) = foot.cut_right(96);
        let (start, _) = start.cut_left(20);
        self.words("0", start, &small, Side::Middle)?;
        let most = Fixed::whole(axes.most_rpm);
        self.words(format_args!("{most} rpm"), end, &small, Side::Right)
    }

    /// A point of a curve: a solid square, or a ring.
    fn dot(&mut self, at: Point, ring: bool) -> Result<(), D::Error> {
        if !ring {
            return self.ink(Room::new(at.x - 3, at.y - 3, 6, 6));
        }
        let ring = Circle::new(at - Size::new(4, 4), 9);
        ring.into_styled(PrimitiveStyle::with_stroke(BinaryColor::On, 2)).draw(self)
    }
}
