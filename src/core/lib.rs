//! The pure rooms of Afterturn.
//!
//! What is here decides: which capture time a picture has, how it is wrapped,
//! when it may be released, what a socket message says. What is *not* here
//! does: no device, socket, disk, thread or clock. Whatever depends on the
//! present takes it as an argument called `now`, so an hour of class is a loop
//! in a test.
//!
//! Rooms, top to bottom; each may use only rooms below it, and the rooms of one
//! line do not import each other:
//!
//! - [`wire`], [`delay`], [`scene`], [`vision`], [`plan`],
//!   [`consent`]
//! - [`media`], [`rotation`]
//! - [`kernel`]

pub mod consent;
pub mod delay;
pub mod kernel;
pub mod media;
pub mod plan;
pub mod rotation;
pub mod scene;
pub mod vision;
pub mod wire;
