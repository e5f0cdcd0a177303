//! Who is asking, and what they may do.
//!
//! - [`Grant`], [`Action`]: the table of who may do what. Denied unless listed.
//! - [`Door`]: the passphrase, the PIN, sessions, screens that wait to be let
//!   in. A state machine: `now` comes in, what is to be kept comes out.
//! - [`Guesses`]: how often a secret may be guessed at.
//! - [`check`]: whether a request is meant for us and comes from our own pages.
//! - [`Listener`]: by which way a request came in, and what that way is for.
//! - [`certificate`]: the box's own authority, and certificates a school brings.
//!
//! Not here: HTTP, clocks, the disk. Headers and cookies come in as text.

pub mod certificate;
mod guesses;
mod keeper;
mod listener;
mod origin;
mod pairing;
mod passphrase;
mod peer;
mod sessions;
mod token;

use afterturn_core::kernel::StationNumber;
use serde::{Deserialize, Serialize};

pub use guesses::{Guesser, Guesses, Wait, What};
pub use keeper::{Door, Kept};
pub use listener::{Arrival, Listener};
pub use origin::{Headers, Refusal, check};
pub use pairing::{Pairing, PairingError, PairingState};
pub use passphrase::{Hash, PassphraseError, check_passphrase, check_pin, hash, verify};
pub use peer::Peer;
pub use sessions::{Listed, Pass, SessionId};
pub use token::{Token, spoken};

/// What somebody at a browser is to the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Everything.
    Teacher,
    /// Runs a class; no names, nothing kept.
    Helper,
    /// One screen: sees, and presses what is on it.
    Screen,
    /// A screen for the whole hall: sees where everybody goes, and no picture.
    HallBoard,
    /// Publishes to one station, and sees what becomes of it.
    Camera,
}

/// What a session was given: a role and, where the role has one, its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "role")]
pub enum Grant {
    /// Everything.
    Teacher,
    /// Runs a class.
    Helper,
    /// A browser on the box itself, where the config file lets it watch: every
    /// station, like a screen of each.
    ThisMachine,
    /// The screen of one station.
    Screen {
        /// Which.
        station: StationNumber,
    },
    /// A screen for the whole hall.
    HallBoard,
    /// Publishes to one station.
    Camera {
        /// Which.
        station: StationNumber,
    },
}

/// Something a handler does on somebody's behalf.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// Read which stations there are and how they fare.
    SeeStations,
    /// See a station's late picture.
    Watch,
    /// See what a station's camera sees now, small.
    SeeNow,
    /// See the board of the hall.
    SeeHall,
    /// Change a station's delay.
    SetDelay,
    /// Open the remote.
    UseRemote,
    /// Start a class, and with it its cameras; end it, and with it they go off.
    StartClass,
    /// Keep it going, and stop everything: next, pause, freeze, dark, leave,
    /// accident.
    RunClass,
    /// Next and freeze with the keys of a screen, where the config file lets it.
    Click,
    /// Move its plan, and go on after leaving or an accident: back, half a minute
    /// more, close a station, to the stretch; choose a cue for it, and say what
    /// becomes of what it had otherwise.
    LeadClass,
    /// Choose for whom the screens are: grade, view, look, language.
    ChooseSheet,
    /// Choose the gym's speaker and what it plays, and have it sound once.
    ChooseSound,
    /// Be the speaker, and get the teacher's files for it.
    Sound,
    /// Show the last attempt once more, hold a picture, step.
    ShowAgain,
    /// Hide pictures, forget them, or show again what was hidden so: pause, don't
    /// show, cover, wipe.
    Hide,
    /// Say who may be shown where the list cannot tell: to show more than it
    /// allows. To show less is part of what the others are.
    ShowUnlisted,
    /// See what cameras are plugged into the box, with a picture of each.
    SetUpCameras,
    /// Read and change the units: the circuit in words.
    EditUnits,
    /// Let screens and cameras in and send them away, set the PIN.
    KeepDoor,
    /// See and change names, consent, and what is kept.
    KeepRoster,
    /// Find out how long a camera takes, and go by it.
    Calibrate,
    /// Be the camera of a station.
    Publish,
}

impl Action {
    /// Every action, for the table's test.
    pub const ALL: [Self; 22] = [
        Self::SeeStations,
        Self::Watch,
        Self::SeeNow,
        Self::SeeHall,
        Self::SetDelay,
        Self::UseRemote,
        Self::StartClass,
        Self::RunClass,
        Self::Click,
        Self::LeadClass,
        Self::ChooseSheet,
        Self::ChooseSound,
        Self::Sound,
        Self::ShowAgain,
        Self::Hide,
        Self::ShowUnlisted,
        Self::SetUpCameras,
        Self::EditUnits,
        Self::KeepDoor,
        Self::KeepRoster,
        Self::Calibrate,
        Self::Publish,
    ];
}

impl Role {
    /// Every role, for the table's test.
    pub const ALL: [Self; 5] = [
        Self::Teacher,
        Self::Helper,
        Self::Screen,
        Self::HallBoard,
        Self::Camera,
    ];

    /// The table: denied unless listed.
    #[must_use]
    pub const fn may(self, action: Action) -> bool {
        matches!(
            (self, action),
            (Self::Teacher, _)
                | (
                    Self::Helper,
                    Action::SeeStations
                        | Action::Watch
                        | Action::SeeNow
                        | Action::SeeHall
                        | Action::UseRemote
                        | Action::StartClass
                        | Action::RunClass
                        | Action::Click
                        | Action::ChooseSheet
                        | Action::ChooseSound
                        | Action::Sound
                        | Action::ShowAgain
                        | Action::Hide
                )
                // A station's own screen has a station, and the hall is none.
                | (
                    Self::Screen,
                    Action::Watch | Action::SeeHall | Action::Click | Action::Sound
                )
                | (Self::HallBoard, Action::SeeHall | Action::Click | Action::Sound)
                // A tablet wired to the TV is both, and sees its station anyway.
                | (Self::Camera, Action::Publish | Action::Watch)
        )
    }
}

impl Grant {
    /// Its role.
    #[must_use]
    pub const fn role(self) -> Role {
        match self {
            Self::Teacher => Role::Teacher,
            Self::Helper => Role::Helper,
            Self::Screen { .. } | Self::ThisMachine => Role::Screen,
            Self::HallBoard => Role::HallBoard,
            Self::Camera { .. } => Role::Camera,
        }
    }

    /// The one station it is for; none where it is for all.
    #[must_use]
    pub const fn station(self) -> Option<StationNumber> {
        match self {
            Self::Teacher | Self::Helper | Self::ThisMachine | Self::HallBoard => None,
            Self::Screen { station } | Self::Camera { station } => Some(station),
        }
    }

    /// Whether it allows an action, at this station if it is about one.
    #[must_use]
    pub fn may(self, action: Action, station: Option<StationNumber>) -> bool {
        self.role().may(action) && self.station().is_none_or(|own| station == Some(own))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_each_role_may_do() {
        let table: Vec<(Role, Vec<Action>)> = Role::ALL
            .into_iter()
            .map(|role| {
                (
                    role,
                    Action::ALL.into_iter().filter(|a| role.may(*a)).collect(),
                )
            })
            .collect();
        assert_eq!(
            table,
            [
                (Role::Teacher, Action::ALL.to_vec()),
                (
                    Role::Helper,
                    vec![
                        Action::SeeStations,
                        Action::Watch,
                        Action::SeeNow,
                        Action::SeeHall,
                        Action::UseRemote,
                        Action::StartClass,
                        Action::RunClass,
                        Action::Click,
                        Action::ChooseSheet,
                        Action::ChooseSound,
                        Action::Sound,
                        Action::ShowAgain,
                        Action::Hide
                    ]
                ),
                (
                    Role::Screen,
                    vec![Action::Watch, Action::SeeHall, Action::Click, Action::Sound]
                ),
                (
                    Role::HallBoard,
                    vec![Action::SeeHall, Action::Click, Action::Sound]
                ),
                (Role::Camera, vec![Action::Watch, Action::Publish]),
            ]
        );
    }

    #[test]
    fn a_screen_sees_its_own_station_and_no_other() {
        let number = |n: i64| StationNumber::try_from(n).expect("a good number");
        let screen = Grant::Screen { station: number(2) };
        assert!(screen.may(Action::Watch, Some(number(2))));
        assert!(!screen.may(Action::Watch, Some(number(1))));
        assert!(!screen.may(Action::Watch, None));
        assert!(!screen.may(Action::SeeHall, None), "nor the hall");
        assert!(Grant::HallBoard.may(Action::SeeHall, None));
        assert!(Grant::ThisMachine.may(Action::SeeHall, None));
        assert!(!Grant::HallBoard.may(Action::Watch, Some(number(2))));
        assert!(Grant::Teacher.may(Action::Watch, Some(number(1))));
        assert!(Grant::Helper.may(Action::SeeStations, None));
    }
}
