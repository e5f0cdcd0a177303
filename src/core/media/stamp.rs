//! placeholder
/// The time a source gave a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SourceStamp {
    /// None at all.
    Missing,
    /// Nanoseconds of the pipeline's running time, presentation order.
    PipelineNs(u64),
    /// A 32-bit RTP timestamp and its clock rate (90,000 for video).
    Rtp {
        /// As it stood in the packet; wraps.
        ticks: u32,
        /// Ticks a second.
        clock_hz: u32,
    },
}
