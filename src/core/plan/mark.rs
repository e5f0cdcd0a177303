//! A station's mark: number, shape and colour, always together. The same mark
//! is on the TV, the sign, the remote and the floor.
//!
//! Not here: how shapes are drawn, which shade a colour has where.

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
