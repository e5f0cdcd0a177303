//! Who is asking, and what they may do.
//!
//! Until sign-in exists the server listens to its own machine only, and whoever
//! sits at that machine is the teacher. The table of what a role may do is
//! here from the start, so that sign-in changes who gets a role, not what
//! handlers ask.
//!
//! Not here: HTTP. Headers come in as text.

mod origin;

pub use origin::{Headers, Refusal, check};

/// What somebody at a browser is to the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Everything.
    Teacher,
    /// Runs a class; no names, nothing kept.
    Helper,
    /// One screen: sees, and presses what is on it.
    Screen,
    /// Publishes to one station.
    Camera,
}

/// Something a handler does on somebody's behalf.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// Read which stations there are and how they fare.
    SeeStations,
    /// See a station's late picture.
    Watch,
    /// Change a station's delay.
    SetDelay,
    /// Open the remote.
    UseRemote,
    /// Hide pictures, or show them again: pause, don't show, cover.
    Hide,
    /// Forget everything taken so far.
    Wipe,
}

impl Action {
    /// Every action, for the table's test.
    pub const ALL: [Self; 6] = [
        Self::SeeStations,
        Self::Watch,
        Self::SetDelay,
        Self::UseRemote,
        Self::Hide,
        Self::Wipe,
    ];
}

impl Role {
    /// Every role, for the table's test.
    pub const ALL: [Self; 4] = [Self::Teacher, Self::Helper, Self::Screen, Self::Camera];

    /// The table: denied unless listed.
    #[must_use]
    pub const fn may(self, action: Action) -> bool {
        matches!(
            (self, action),
            (Self::Teacher, _)
                | (
                    Self::Helper,
                    Action::SeeStations | Action::Watch | Action::UseRemote | Action::Hide
                )
                | (Self::Screen, Action::Watch)
        )
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
                        Action::UseRemote,
                        Action::Hide
                    ]
                ),
                (Role::Screen, vec![Action::Watch]),
                (Role::Camera, vec![]),
            ]
        );
    }
}
