//! Which paths there are, and the methods each takes: for whoever asks for
//! another.
//!
//! Not here: where they lead (`routes`).

use super::{Kind, Problem, asked::Asked, roster};

/// Neither a path nor a method that anything here takes.
pub(super) fn unknown(asked: &Asked) -> Problem {
    let parts = asked.parts();
    let there = matches!(
        parts[..],
        ["" | "remote"
            | "cameras"
            | "figures"
            | "hall"
            | "health"
            | "pair"
            | "sign-in"
            | "sign-out"
            | "screens"
            | "trust"
            | "unit"
            | "camera"]
            | ["tv" | "trust" | "unit" | "camera", _]
            | ["camera", _, "tv"]
            | ["assets", ..]
            | [
                "api",
                "stations"
                    | "pairing"
                    | "class"
                    | "showing"
                    | "sound"
                    | "units"
                    | "pictures"
                    | "devices"
            ]
            | [
                "api",
                "class",
                "start" | "presses" | "shown" | "answer" | "changes" | "cue" | "kept"
            ]
            | ["api", "sound", "tone"]
            | ["api", "sound", "files", _, _]
            | ["api", "devices", _, "picture"]
            | ["api", "units", _, "trial" | "setups" | "use"]
            | ["api", "units", _, "grades", _]
            | ["api", "stations" | "units" | "pictures", _]
            | ["api", "stations", _, "pictures", _]
            | [
                "api",
                "stations",
                _,
                "orders" | "again" | "calibration" | "still"
            ]
            | ["api", "pairing", "qr"]
    ) || roster::is_page(&parts);
    if there {
        let detail = format!("{} is not taken here", asked.method);
        Problem::new(Kind::NotAllowed, detail)
    } else {
        Problem::new(Kind::NotFound, "there is no such page")
    }
}

/// The methods a path takes; a refusal of another has to say them (RFC 9110
/// §15.5.6).
pub(super) fn taken(parts: &[&str]) -> &'static str {
    match parts {
        ["api", "stations", _] | ["api", "showing" | "sound"] => "GET, HEAD, PATCH",
        ["api", "units", _] => "GET, HEAD, PUT",
        [
            "api",
            "stations",
            _,
            "orders" | "again" | "calibration" | "publisher",
        ]
        | [
            "api",
            "class",
            "presses" | "shown" | "answer" | "changes" | "cue",
        ]
        | ["api", "sound", "tone"]
        | ["api", "devices", _, "picture"]
        | ["api", "units", _, "trial" | "use"]
        | ["api", "pictures"]
        | ["sign-out"] => "POST",
        ["api", "stations", _, "whip"] => "POST, OPTIONS",
        ["api", "stations", _, "whip", _] => "DELETE, OPTIONS",
        ["api", "pairing" | "units"]
        | ["api", "class", "start" | "kept"]
        | ["sign-in" | "screens"]
        | ["roster", ..] => "GET, HEAD, POST",
        _ => "GET, HEAD",
    }
}
