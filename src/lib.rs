//! Rooms of the program above the pure core.
