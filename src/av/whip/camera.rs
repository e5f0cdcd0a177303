//! A station's camera that is a tablet: it waits for whoever publishes.
//!
//! Not here: the publishing itself.

use afterturn_core::kernel::StationNumber;

use super::Publishing;
use crate::av::camera::{Camera, CameraError, EventSink, NowFn, Running};

/// See the module.
#[derive(Debug)]
pub struct WhipCamera {
    publishing: Publishing,
    station: StationNumber,
}

impl WhipCamera {
    /// The camera of a station whose publishers come over `publishing`.
    #[must_use]
    pub const fn new(publishing: Publishing, station: StationNumber) -> Self {
        Self {
            publishing,
            station,
        }
    }
}

struct Wanting {
    publishing: Publishing,
    station: StationNumber,
    turn: u64,
}

impl Running for Wanting {}

impl Drop for Wanting {
    fn drop(&mut self) {
        self.publishing.close(self.station, self.turn);
    }
}

impl Camera for WhipCamera {
    fn kind(&self) -> &'static str {
        "whip"
    }

    fn start(&mut self, now: NowFn, events: EventSink) -> Result<Box<dyn Running>, CameraError> {
        let turn = self.publishing.open(self.station, events, now);
        Ok(Box::new(Wanting {
            publishing: self.publishing.clone(),
            station: self.station,
            turn,
        }))
    }
}
