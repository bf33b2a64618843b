//! Colours, dashes and markers that stay apart for colour-blind readers and in black and white.

use plotters::style::RGBColor;

/// Colours of the fuels: five of the eight of Okabe and Ito, "Color Universal Design" (2008), dark
/// enough on white; values from memory.
const FUEL_COLOURS: [RGBColor; 5] = [
    RGBColor(0, 114, 178),
    RGBColor(213, 94, 0),
    RGBColor(0, 158, 115),
    RGBColor(204, 121, 167),
    RGBColor(86, 180, 233),
];
/// Lines and words that belong to no fuel.
pub(in crate::report) const INK: RGBColor = RGBColor(30, 30, 30);
/// Mesh and reference areas.
pub(in crate::report) const PALE: RGBColor = RGBColor(222, 222, 222);
/// Reference lines behind the curves.
pub(in crate::report) const GREY: RGBColor = RGBColor(130, 130, 130);

/// Ground of what is over a limit.
pub(in crate::report) const OVER_LIMIT: RGBColor = RGBColor(176, 0, 48);

/// How a line is broken: drawn and left-out lengths in pixels; none is unbroken.
pub(in crate::report) type Dash = Option<(i32, i32)>;

/// Line of what MBT timing would give.
pub(in crate::report) const BEST_TORQUE: Dash = Some((5, 5));
/// Dash and gap of a line that several share, each drawing its dashes in turn [px].
pub(super) const TURN: (i32, i32) = (5, 5);
/// Line of the likely limit, beside the unbroken one of the timing to start from.
pub(in crate::report) const LIMIT: Dash = Some((2, 4));

const DASHES: [Dash; 3] = [None, Some((9, 4)), Some((3, 3))];

/// Marker at the points of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Shape {
    Circle,
    Square,
    Triangle,
    Diamond,
    Inverted,
}

const SHAPES: [Shape; 5] = [Shape::Circle, Shape::Square, Shape::Triangle, Shape::Diamond, Shape::Inverted];

/// What a fuel looks like in every chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::report) struct Look {
    pub(in crate::report) colour: RGBColor,
    pub(in crate::report) dash: Dash,
    pub(in crate::report) shape: Shape,
}

/// The look of the fuel at a place in the list. Fifteen fuels differ in colour or dash.
pub(in crate::report) fn look(index: usize) -> Look {
    Look {
        colour: FUEL_COLOURS[index % FUEL_COLOURS.len()],
        dash: DASHES[index % DASHES.len()],
        shape: SHAPES[index % SHAPES.len()],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fifteen_fuels_look_different_and_five_do_so_without_colour() {
        let looks: Vec<Look> = (0..15).map(look).collect();
        for (i, a) in looks.iter().enumerate() {
            assert!(looks[..i].iter().all(|b| a != b));
            assert!(i >= 5 || looks[..i].iter().all(|b| a.shape != b.shape));
        }
    }
}
