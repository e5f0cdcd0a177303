//! One encoded picture and everything done to it before it is kept: the capture
//! time it gets, the parameter sets it needs, the fragment it is wrapped in; the
//! finished file that some of them become ([`movie`]), and what of a raw picture
//! is covered ([`Mat`]).
//!
//! Not here: where pictures come from, how long they are kept, who may see
//! them. H.264 is carried, never decoded.

pub mod annexb;
pub mod bars;
mod fragment;
mod intake;
mod mat;
mod movie;
mod params;
pub mod report;
pub mod slice;
pub mod stamp;
pub mod strip;

pub use fragment::{Fragment, TIMESCALE_HZ};
pub use intake::{Intake, IntakeSettings, Made, Picture};
pub use mat::{Corner, Cover, I420, Mat, MatError};
pub use movie::{MovieError, Sample, movie};
pub use params::{ParameterSets, ParameterSetsError};
