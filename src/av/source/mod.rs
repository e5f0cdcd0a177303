//! The kinds of camera: [`network`] over RTSP, on [`usb`], a recording in a [`file`](mod@file), and
//! the [`demo`] that draws.
//!
//! They differ in how a picture comes to be and share everything after it: the
//! tail (`tail`), the thread that watches over a pipeline (`drive`), and the
//! gate (`gate`) after which no event follows.
//!
//! Not here: choosing among them, starting again, showing.

mod address;
mod arrivals;
mod convert;
mod decode;
pub mod demo;
mod drive;
mod fault;
pub mod file;
mod gate;
pub mod network;
mod tail;
pub mod usb;
mod verdict;
