//! The kinds of camera: [`network`] over RTSP, and the [`demo`] that draws.
//!
//! They differ in how a picture comes to be and share everything after it: the
//! tail (`tail`), the thread that watches over a pipeline (`drive`), and the
//! gate (`gate`) after which no event follows.
//!
//! Not here: choosing among them, starting again, showing.

mod address;
pub mod demo;
mod drive;
mod fault;
mod gate;
pub mod network;
mod tail;
