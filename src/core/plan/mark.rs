//! A station's mark: number, shape and colour, always together. The same mark
//! is on the TV, the sign, the remote and the floor.
//!
//! Not here: which shade a colour has where (`web/style/base.css`).

use std::str::FromStr;

use serde::{Serialize, Serializer};

use crate::kernel::StationNumber;

macro_rules! named {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $text:literal),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$of])* $variant),* }

        impl $name {
            /// Every one.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// As it is written in a unit file.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $text),* }
            }
        }

        impl FromStr for $name {
            type Err = ();

            fn from_str(text: &str) -> Result<Self, ()> {
                match text { $($text => Ok(Self::$variant),)* _ => Err(()) }
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.name())
            }
        }
    };
}
pub(super) use named;

named!(
    /// What a mark's outline is.
    Shape {
        /// A filled circle.
        Disc = "disc",
        /// On its side.
        Square = "square",
        /// Point up.
        Triangle = "triangle",
        /// A square on its point.
        Diamond = "diamond",
        /// Five points.
        Star = "star",
        /// An open circle.
        Ring = "ring",
        /// Upright.
        Cross = "cross",
        /// Six sides.
        Hexagon = "hexagon",
    }
);

named!(
    /// What a mark's colour is called: the set of Okabe and Ito (2008), which
    /// stays apart for the colour-blind.
    Colour {
        /// Black.
        Black = "black",
        /// Orange.
        Orange = "orange",
        /// Sky blue.
        SkyBlue = "sky-blue",
        /// Bluish green.
        Green = "green",
        /// Yellow.
        Yellow = "yellow",
        /// Blue.
        Blue = "blue",
        /// Vermilion.
        Vermilion = "vermilion",
        /// Reddish purple.
        Purple = "purple",
    }
);

/// A station's mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct Mark {
    /// What a child reads.
    pub number: StationNumber,
    /// What a child who cannot read yet looks for.
    pub shape: Shape,
    /// Never alone.
    pub colour: Colour,
}

impl Mark {
    /// The mark of a station that no unit gives another. Shapes and colours go
    /// round after eight; the number does not.
    #[must_use]
    pub fn usual(number: StationNumber) -> Self {
        const ROUND: [(Shape, Colour); 8] = [
            (Shape::Hexagon, Colour::Black),
            (Shape::Disc, Colour::Orange),
            (Shape::Square, Colour::SkyBlue),
            (Shape::Triangle, Colour::Green),
            (Shape::Diamond, Colour::Yellow),
            (Shape::Star, Colour::Blue),
            (Shape::Ring, Colour::Vermilion),
            (Shape::Cross, Colour::Purple),
        ];
        let (shape, colour) = ROUND[usize::from(number.get()) % ROUND.len()];
        Self {
            number,
            shape,
            colour,
        }
    }
}

impl Shape {
    /// The outline as an SVG path in a box of 100.
    #[must_use]
    pub const fn outline(self) -> &'static str {
        match self {
            Self::Disc => "M50 3A47 47 0 1 1 49.99 3Z",
            Self::Square => "M6 6H94V94H6Z",
            Self::Triangle => "M50 2 99 94H1Z",
            Self::Diamond => "M50 1 99 50 50 99 1 50Z",
            Self::Star => "M50 1 64 33 99 37 73 60 80 95 50 77 20 95 27 60 1 37 36 33Z",
            Self::Ring => "M50 8A42 42 0 1 1 49.99 8Z",
            Self::Cross => "M28 3H72V28H97V72H72V97H28V72H3V28H28Z",
            Self::Hexagon => "M26 7H74L98 50 74 93H26L2 50Z",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_shapes_have_one_outline() {
        let outlines: std::collections::BTreeSet<_> =
            Shape::ALL.iter().map(|shape| shape.outline()).collect();
        assert_eq!(outlines.len(), Shape::ALL.len());
    }

    #[test]
    fn the_first_eight_usual_marks_share_neither_shape_nor_colour() {
        let marks = (1..=8).map(|number: i64| Mark::usual(number.try_into().expect("good")));
        let marks: Vec<_> = marks.collect();
        for (i, one) in marks.iter().enumerate() {
            assert_eq!(usize::from(one.number.get()), i + 1);
            for other in &marks[..i] {
                assert!(one.shape != other.shape && one.colour != other.colour);
            }
        }
    }
}
