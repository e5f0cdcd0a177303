//! Bodies: whose is taken, how large, for how long; and how much of them the box
//! holds at once. Who asks is looked at before anything is read, so that nobody
//! whom the door has not let in makes the box hold more than a form.
//!
//! A path that is not in the table here is answered without its body. Not here:
//! what stands in one, and what more a handler asks of the door.

use std::{pin::pin, sync::Arc, time::Duration};

use bytes::{Buf, BufMut, Bytes, BytesMut};
use futures_util::{Stream, StreamExt};
use tokio::{
    sync::{OwnedSemaphorePermit, Semaphore},
    time::timeout,
};
use warp::http::{HeaderMap, Method, header};

use super::{
    Kind, Problem,
    asked::{Asked, need, need_at},
};
use crate::door::Action;
use crate::units::MOST_PICTURE_BYTES;

/// The largest body of most paths; a delay needs forty bytes.
const MOST_BODY_BYTES: u64 = 16 * 1024;
/// An afternoon's changes to a unit that nobody saved meanwhile.
const MOST_UNIT_BYTES: u64 = 256 * 1024;
/// A list of a district, or a backup, from a teacher.
const MOST_FILE_BYTES: u64 = 32 * 1024 * 1024;
/// What may be larger than most, in all and at once: two of the largest. What runs
/// a class is small and not counted: at 16 KiB a connection there is no more of it
/// than there are connections, and a press must not wait for a file.
const MOST_AT_ONCE_BYTES: u64 = 2 * MOST_FILE_BYTES;
/// What that is counted in.
const PIECE_BYTES: u64 = 1024;

/// A phone at the edge of the wireless network needs seconds, and whoever sends a
/// byte now and then is not waited for.
const BODY_WITHIN: Duration = Duration::from_secs(10);
/// A file of a teacher's: a backup of some megabytes over a weak wireless link.
const FILE_WITHIN: Duration = Duration::from_mins(2);
/// When to try again while there is no room: most files are there in seconds.
const TRY_AGAIN_S: u64 = 10;

/// How much room there is for large bodies, all listeners together.
#[derive(Clone)]
pub(super) struct Room(Arc<Semaphore>);

impl Default for Room {
    fn default() -> Self {
        Self::of(MOST_AT_ONCE_BYTES)
    }
}

impl Room {
    pub(super) fn of(bytes: u64) -> Self {
        let pieces = usize::try_from(bytes / PIECE_BYTES).expect("some mebibytes");
        Self(Arc::new(Semaphore::new(pieces)))
    }

    fn take(&self, bytes: u64) -> Result<Option<OwnedSemaphorePermit>, Problem> {
        if bytes <= MOST_BODY_BYTES {
            return Ok(None);
        }
        let pieces = u32::try_from(bytes.div_ceil(PIECE_BYTES)).unwrap_or(u32::MAX);
        let taken = Arc::clone(&self.0).try_acquire_many_owned(pieces);
        taken.map(Some).map_err(|_| Problem {
            wait_s: Some(TRY_AGAIN_S),
            ..Problem::new(
                Kind::NotNow,
                "other files are on their way to the box, and this one does not fit beside \
                 them; nothing was changed; send it again when they are there",
            )
        })
    }
}

/// What is taken at a path, from whoever may send it.
struct Takes {
    most_bytes: u64,
    within: Duration,
}

const SMALL: Takes = Takes {
    most_bytes: MOST_BODY_BYTES,
    within: BODY_WITHIN,
};
const UNIT: Takes = Takes {
    most_bytes: MOST_UNIT_BYTES,
    ..SMALL
};
const PICTURE: Takes = Takes {
    most_bytes: MOST_PICTURE_BYTES as u64,
    ..SMALL
};
const FILE: Takes = Takes {
    most_bytes: MOST_FILE_BYTES,
    within: FILE_WITHIN,
};

/// The table. None: nothing is read, and the handler says why.
fn takes(asked: &Asked) -> Option<Takes> {
    let may = |action| need(asked, action).is_ok();
    let may_at = |action, number| need_at(asked, action, number).is_ok();
    let secret = asked.arrival.listener.takes_secrets();
    let (allowed, takes) = match (&asked.method, &asked.parts()[..]) {
        (&Method::POST, ["sign-in"]) => (secret, SMALL),
        (&Method::POST, ["screens"]) => (secret && may(Action::KeepDoor), SMALL),
        // A list may be pasted, and be carried past a locked vault.
        (&Method::POST, ["roster", ..]) => (secret && may(Action::KeepRoster), FILE),
        (&Method::POST | &Method::PUT, ["api", "units", ..]) => (may(Action::EditUnits), UNIT),
        (&Method::POST, ["api", "pictures"]) => (may(Action::EditUnits), PICTURE),
        (&Method::PATCH, ["api", "showing"]) => (may(Action::ChooseSheet), SMALL),
        (&Method::PATCH, ["api", "sound"]) => (may(Action::ChooseSound), SMALL),
        (&Method::PATCH, ["api", "stations", number]) => (may_at(Action::SetDelay, number), SMALL),
        (&Method::POST, ["api", "stations", number, what]) => (
            at_station(what).is_some_and(|action| may_at(action, number)),
            SMALL,
        ),
        (&Method::POST, ["api", "class", what]) => (of_class(what).is_some_and(may), SMALL),
        _ => return None,
    };
    allowed.then_some(takes)
}

fn at_station(what: &str) -> Option<Action> {
    Some(match what {
        "orders" => Action::Hide,
        "again" => Action::ShowAgain,
        "calibration" => Action::Calibrate,
        "whip" | "publisher" => Action::Publish,
        _ => return None,
    })
}

fn of_class(what: &str) -> Option<Action> {
    Some(match what {
        "start" => Action::StartClass,
        "presses" | "changes" => Action::RunClass,
        "shown" => Action::ShowUnlisted,
        "answer" | "cue" | "kept" => Action::LeadClass,
        _ => return None,
    })
}

/// A body, and the room it has until it is dealt with.
pub(super) struct Taken {
    pub(super) body: Bytes,
    pub(super) room: Option<OwnedSemaphorePermit>,
}

/// Reads the body of a request, if whoever asks may send one there, it is not too
/// large, there is room for it and it comes in time.
pub(super) async fn take<P, B>(asked: &Asked, parts: P, room: &Room) -> Result<Taken, Problem>
where
    P: Stream<Item = Result<B, warp::Error>> + Send,
    B: Buf,
{
    let nothing = Taken {
        body: Bytes::new(),
        room: None,
    };
    let Some(takes) = takes(asked) else {
        return Ok(nothing);
    };
    let bytes = announced(&asked.headers)?;
    if bytes > takes.most_bytes {
        return Err(too_large());
    }
    if bytes == 0 {
        return Ok(nothing);
    }
    let room = room.take(bytes)?;
    let read = timeout(takes.within, gathered(parts)).await;
    let body =
        read.unwrap_or_else(|_| Err(Problem::new(Kind::TooSlow, "the rest did not come")))?;
    Ok(Taken { body, room })
}

/// How much a request says it brings. What does not say could go on for ever.
fn announced(headers: &HeaderMap) -> Result<u64, Problem> {
    if headers.contains_key(header::TRANSFER_ENCODING) {
        return Err(too_large());
    }
    let Some(length) = headers.get(header::CONTENT_LENGTH) else {
        return Ok(0);
    };
    let length = length.to_str().ok().and_then(|text| text.parse().ok());
    length.ok_or_else(|| Problem::new(Kind::BadRequest, "its length makes no sense"))
}

fn too_large() -> Problem {
    Problem::new(Kind::TooLarge, "this is more than is taken here")
}

/// A body, from its parts.
async fn gathered<P, B>(parts: P) -> Result<Bytes, Problem>
where
    P: Stream<Item = Result<B, warp::Error>> + Send,
    B: Buf,
{
    let mut parts = pin!(parts);
    let mut whole = BytesMut::new();
    while let Some(part) = parts.next().await {
        let part = part.map_err(|_| Problem::new(Kind::BadRequest, "the rest did not come"))?;
        whole.put(part);
    }
    Ok(whole.freeze())
}
