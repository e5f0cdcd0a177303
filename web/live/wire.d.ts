// What a screen and the server say to each other: src/core/wire/mod.rs is the
// source. Generated from it by ts-rs; not edited by hand.

/** Which clock something belongs to. */
export type Applies = { "clock": "live" } | { "clock": "at_capture", capture_us: number, };

/** How a station's camera is, in a word; the page has the sentence. */
export type CameraState = "starting" | "showing" | "stalled" | "unreachable" | "refused" | "not_a_camera" | "unsuitable" | "ended" | "missing_part";

/** Why a stretch of pictures is covered. */
export type CoverReason = "dont_show" | "wiped";

/** How a station is at one moment. All of it is live. */
export type StationState = { applies: Applies, number: number, title: string, delay_ms: number, window_ms: number, camera: CameraState, camera_since_us: number, oldest_us: number | null, newest_us: number | null, demo: boolean, };

/** From the server to a screen. */
export type FromServer = { "type": "hello", protocol: number, build: string, station: number, now_us: number, } | { "type": "clock", t1_us: number, t2_us: number, t3_us: number, } | { "type": "state" } & StationState | { "type": "run", mime: string, width_px: number, height_px: number, from_us: number, } | { "type": "lost", pictures: number, } | { "type": "cover", applies: Applies, reason: CoverReason, } | { "type": "refused", detail: string, };

/** From a screen to the server. */
export type FromScreen = { "type": "clock", t1_us: number, } | { "type": "want", from_us: number | null, } | { "type": "report", buffer_end_us: number | null, glass_us: number | null, error_us: number | null, dropped_pictures: number, };
